/* CPU time of the parts of a turn whose counterparts others have too: decoding
 * an answer beside a copy of its bytes, and what is published. Each measure is
 * a line "NAME VALUE UNIT", the least of several rounds: what else the machine
 * does only adds to it. contrib/bench.sh sets them against their peers.
 * Usage: work_cpu ICS [SERVICE FILE]...   (ICS: where the calendar of the feed
 * is written, for its peer to make the same) */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/file.h"
#include "fake_bulletin.h"
#include "publish/bulletin.h"
#include "publish/calendar.h"
#include "publish/chart_png.h"
#include "publish/mail.h"
#include "publish/page.h"
#include "source/source.h"

enum { ROUNDS = 7 };
static const double round_us = 40e3; /* what a round lasts at least */

/* One piece of work on what is given. */
typedef void (*work)(void *given);

static double cpu_us(void)
{
    struct timespec at;

    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &at);
    return (double)at.tv_sec * 1e6 + (double)at.tv_nsec / 1e3;
}

static double round_of(work work_on, void *given)
{
    double from_us = cpu_us(), now_us = from_us;
    int times = 0;

    while (now_us - from_us < round_us) {
        work_on(given);
        times++;
        now_us = cpu_us();
    }
    return (now_us - from_us) / times;
}

static void measure(const char *name, work work_on, void *given)
{
    double least_us = round_of(work_on, given);

    for (int i = 1; i < ROUNDS; i++) {
        double us = round_of(work_on, given);

        least_us = us < least_us ? us : least_us;
    }
    printf("%s %.3f us\n", name, least_us);
}

struct answer {
    const struct source *source;
    char *bytes, *copy;
    size_t length;
};

static void decode(void *given)
{
    struct answer *answer = given;
    struct source_answer out = {0};
    struct error err = {""};

    if (answer->source->decode(answer->bytes, answer->length, FAKE_MADE, &out,
                               &err) != 0) {
        fprintf(stderr, "%s: %s\n", answer->source->name, err.text);
        exit(1);
    }
    source_answer_free(&out);
}

static void copy(void *given)
{
    struct answer *answer = given;

    memcpy(answer->copy, answer->bytes, answer->length);
    /* The copy is used: the compiler may not leave it out. */
    __asm__ volatile("" : : "r"(answer->copy) : "memory");
}

static void measure_answer(const char *service, const char *path)
{
    char *decode_name = mem_format("decode/%s", service);
    char *copy_name = mem_format("copy/%s", service);
    struct answer answer = {.source = source_find(service)};
    struct error err = {""};

    if (answer.source == NULL) {
        fprintf(stderr, "%s: no such service\n", service);
        exit(2);
    }
    if (file_read(path, SOURCE_MAX_BYTES, &answer.bytes, &answer.length,
                  &err) != 0) {
        fprintf(stderr, "%s\n", err.text);
        exit(1);
    }
    answer.copy = mem_alloc(answer.length + 1, 1);
    measure(decode_name, decode, &answer);
    measure(copy_name, copy, &answer);
    free(answer.copy);
    free(answer.bytes);
    free(copy_name);
    free(decode_name);
}

struct publishing {
    struct bulletin *bulletin;
    struct calendar_memory memory;
};

static void write_calendar(void *given)
{
    struct publishing *publishing = given;

    free(calendar_to_ics(&publishing->memory, publishing->bulletin,
                         "https://example.org/page"));
}

/* As in a turn: the memory is brought up to date, written and checked. */
static void renew_calendar(void *given)
{
    struct publishing *publishing = given;
    struct calendar_memory memory = {0};
    struct error err = {""};
    char *ics;

    calendar_update(&memory, publishing->bulletin);
    ics = calendar_to_ics(&memory, publishing->bulletin,
                          "https://example.org/page");
    if (calendar_check(ics, strlen(ics), &err) != 0)
        exit(1);
    free(ics);
    calendar_memory_free(&memory);
}

static void write_json(void *given)
{
    struct publishing *publishing = given;

    free(bulletin_to_json(publishing->bulletin));
}

static void write_page(void *given)
{
    struct publishing *publishing = given;
    struct page_options options = {.address = NULL};

    free(page_to_html(publishing->bulletin, &options));
}

static void write_mail(void *given)
{
    struct publishing *publishing = given;
    struct mail_letter letter = {0};
    char *warning = NULL;

    mail_morning(publishing->bulletin, FAKE_MADE, NULL, &letter, &warning);
    free(warning);
    mail_letter_free(&letter);
}

static void measure_publishing(const char *ics_path)
{
    struct publishing publishing = {.bulletin = fake_bulletin()};
    struct error err = {""};
    char *ics;

    calendar_update(&publishing.memory, publishing.bulletin);
    ics = calendar_to_ics(&publishing.memory, publishing.bulletin,
                          "https://example.org/page");
    if (file_write_whole(ics_path, ics, strlen(ics), 0644, &err) != 0) {
        fprintf(stderr, "%s\n", err.text);
        exit(1);
    }
    free(ics);
    printf("calendar_events %d events\n", publishing.memory.count);
    measure("calendar", write_calendar, &publishing);
    measure("calendar_turn", renew_calendar, &publishing);
    measure("json", write_json, &publishing);
    measure("page", write_page, &publishing);
    measure("mail_with_chart", write_mail, &publishing);
    calendar_memory_free(&publishing.memory);
    bulletin_free(publishing.bulletin);
}

int main(int argc, char **argv)
{
    if (argc < 2 || argc % 2 != 0) {
        fprintf(stderr, "usage: work_cpu ICS [SERVICE FILE]...\n");
        return 2;
    }
    mem_few_heaps(); /* as in the daemon */
    for (int i = 2; i < argc; i += 2)
        measure_answer(argv[i], argv[i + 1]);
    measure_publishing(argv[1]);
    return 0;
}
