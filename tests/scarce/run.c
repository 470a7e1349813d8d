/* Each stage with each allocation, or each call that writes, failing in turn,
 * in a process of its own.
 *
 *   PROGRAM memory|disk [STAGE…]
 *
 * The process must end by itself: with 0 (it could do without), with a
 * sentence of its own (3), or, where memory is wanting, as base/memory.h says:
 * with "out of memory" and status 1. Never by a signal, never with a leak; and
 * what is on disk must be whole afterwards (bench_check), and be there where
 * it ended with 0 (done.h).
 *
 * Tried are the first 200 points of each stage and a sample of 60 others (a
 * quarter of that where a stage is slow, and of writes), one in eight also with
 * all that comes after failing, one in three looked at for leaks.
 * THAWBELL_SCARCE_POINTS in the environment is another number than 200, with as
 * large a sample in proportion and all of them both ways and for leaks; "all":
 * all. THAWBELL_TEST_SEED repeats a sample. */
#include <limits.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/units.h"
#include "bench.h"
#include "scarce.h"
#include "stages.h"
#include "test_seed.h"

enum {
    DID = 0,
    GAVE_UP = 1, /* base/memory.h */
    SAID = 3,
    LEAKED = 99,
    FIRST_POINTS = 200,
    MORE_SHARE = 3, /* of them, as many others */
    SLOW_SHARE = 4, /* slow stages get this part of both */
    DISK_SHARE = 4, /* and writes, each of which fails in several ways */
    ATTEMPT_S = 120
};

#if defined(__SANITIZE_ADDRESS__)
int __lsan_do_recoverable_leak_check(void);
const char *__asan_default_options(void);

/* A process that ends for want of memory gives nothing back; the others are
 * asked before they end. */
const char *__asan_default_options(void)
{
    return "leak_check_at_exit=0:allocator_may_return_null=1";
}

static bool leaks(void)
{
    return __lsan_do_recoverable_leak_check() != 0;
}
#else
static bool leaks(void)
{
    return false;
}
#endif

struct attempt {
    const struct stage *stage;
    bool disk;
    long nth; /* 0: count */
    bool all;
    enum scarce_fault fault;
};

struct outcome {
    int status;      /* as waitpid gives it */
    long count;      /* of the points met */
    char words[800]; /* on standard error */
};

/* How many points are tried one after the other; 0: as always. */
static long told_points(void)
{
    const char *told = getenv("THAWBELL_SCARCE_POINTS");
    long points = 0;

    if (told == NULL)
        return 0;
    if (strcmp(told, "all") == 0)
        return LONG_MAX;
    if (!integer_parse(told, 1, 1000000000, &points))
        exit(2);
    return points;
}

/* Looking for leaks takes longer than all else. */
static bool looks_for_leaks(const struct attempt *attempt)
{
    return told_points() > 0 || attempt->nth % 3 == 0;
}

static _Noreturn void work(const struct attempt *attempt, const char *folder,
                           int report)
{
    struct error err = {""};
    long count;
    int result;

    alarm(ATTEMPT_S);
    if (attempt->disk)
        scarce_disk(attempt->nth, attempt->all, attempt->fault);
    else
        scarce_memory(attempt->nth, attempt->all);
    result = attempt->stage->run(folder, &err);
    count = scarce_stop();
    if (result != 0)
        fprintf(stderr, "%s\n", err.text);
    fflush(stderr);
    if (write(report, &count, sizeof count) != sizeof count)
        _exit(LEAKED);
    _exit(looks_for_leaks(attempt) && leaks() ? LEAKED
          : result == 0                       ? DID
                                              : SAID);
}

static void read_words(int fd, struct outcome *out)
{
    size_t length = 0;
    ssize_t got;
    char more[400];

    while ((got = read(fd, more, sizeof more)) > 0)
        for (ssize_t i = 0; i < got && length < sizeof out->words - 1; i++)
            out->words[length++] = more[i];
    out->words[length] = '\0';
    close(fd);
}

static void attempt_once(const struct attempt *attempt, const char *folder,
                         struct outcome *out)
{
    int words[2], report[2];
    pid_t child;

    out->count = 0;
    if (pipe(words) != 0 || pipe(report) != 0)
        exit(1);
    fflush(stdout);
    child = fork();
    if (child < 0)
        exit(1);
    if (child == 0) {
        dup2(words[1], STDERR_FILENO);
        close(words[0]);
        close(words[1]);
        close(report[0]);
        work(attempt, folder, report[1]);
    }
    close(words[1]);
    close(report[1]);
    read_words(words[0], out);
    if (read(report[0], &out->count, sizeof out->count) < 0)
        exit(1);
    close(report[0]);
    if (waitpid(child, &out->status, 0) != child)
        exit(1);
}

static _Noreturn void fail(const char *name, const struct outcome *outcome,
                           const char *what)
{
    fprintf(stderr, "%s: %s\n%s\n", name, what, outcome->words);
    exit(1);
}

static int judge(const struct attempt *attempt, const struct outcome *outcome,
                 const char *name)
{
    int code;

    if (!WIFEXITED(outcome->status))
        fail(name, outcome,
             WTERMSIG(outcome->status) == SIGALRM ? "did not end"
                                                  : "ended by a signal");
    code = WEXITSTATUS(outcome->status);
    if (code == LEAKED)
        fail(name, outcome, "leaked");
    if (code != DID && code != SAID && (code != GAVE_UP || attempt->disk))
        fail(name, outcome, "ended with a status of nobody's");
    if (code == GAVE_UP && strcmp(outcome->words, "thawbell: out of memory\n"))
        fail(name, outcome, "gave up with other words");
    if (code == SAID && strlen(outcome->words) < 10)
        fail(name, outcome, "failed without a sentence");
    if (code == SAID && attempt->disk && strchr(outcome->words, '/') == NULL)
        fail(name, outcome, "failed without naming the file");
    return code;
}

static void try_at(const struct attempt *attempt, int ends[SAID + 1])
{
    const char *folder = attempt->stage->writes ? bench_fresh() : bench_first();
    struct outcome outcome;
    char name[160];
    int code;

    snprintf(name, sizeof name, "%s: %s %ld%s%s%s", attempt->stage->name,
             attempt->disk ? "write" : "allocation", attempt->nth,
             attempt->all ? " and all after it" : "", attempt->disk ? ", " : "",
             attempt->disk ? scarce_fault_word(attempt->fault) : "");
    attempt_once(attempt, folder, &outcome);
    code = judge(attempt, &outcome, name);
    ends[code]++;
    if (attempt->stage->writes)
        bench_check(folder, name);
    if (code == DID && attempt->stage->done && !attempt->stage->done(folder))
        fail(name, &outcome, "said that it was done, and it is not");
}

static uint64_t next_random(uint64_t *state)
{
    *state ^= *state >> 12;
    *state ^= *state << 25;
    *state ^= *state >> 27;
    return *state * UINT64_C(2685821657736338717);
}

/* Is the point among those tried? */
static bool chosen(long nth, long count, const struct stage *stage, bool disk,
                   uint64_t *state)
{
    long first = told_points() > 0 ? told_points() : FIRST_POINTS;

    if (first < LONG_MAX)
        first /= (stage->slow ? SLOW_SHARE : 1) * (disk ? DISK_SHARE : 1);
    if (nth <= first)
        return true;
    return (long)(next_random(state) % (uint64_t)(count - first)) <
           first / MORE_SHARE;
}

static int try_point(const struct stage *stage, bool disk, long nth,
                     int ends[SAID + 1])
{
    int tried = 0;

    for (int fault = 0; fault < (disk ? SCARCE_FAULTS : 1); fault++)
        for (int all = 0; all <= 1; all++) {
            struct attempt attempt = {stage, disk, nth, all != 0,
                                      (enum scarce_fault)fault};

            /* Nothing but EINTR for ever is no disk there is. */
            if (all &&
                (fault == SCARCE_EINTR || (told_points() == 0 && nth % 8 != 0)))
                continue;
            try_at(&attempt, ends);
            tried++;
        }
    return tried;
}

static void try_stage(const struct stage *stage, bool disk, uint64_t *state)
{
    struct attempt counting = {stage, disk, 0, false, SCARCE_ENOSPC};
    struct outcome outcome;
    int ends[SAID + 1] = {0}, tried = 0;

    attempt_once(&counting, bench_fresh(), &outcome);
    if (judge(&counting, &outcome, stage->name) != DID)
        fail(stage->name, &outcome, "does not work where nothing fails");
    for (long nth = 1; nth <= outcome.count; nth++)
        if (chosen(nth, outcome.count, stage, disk, state))
            tried += try_point(stage, disk, nth, ends);
    printf("%-20s %6ld %s, %5d attempts: %5d did without, %5d said why, "
           "%5d ended\n",
           stage->name, outcome.count, disk ? "writes" : "allocations", tried,
           ends[DID], ends[SAID], ends[GAVE_UP]);
    fflush(stdout);
}

static bool meant(const struct stage *stage, int argc, char **argv)
{
    for (int i = 2; i < argc; i++)
        if (strcmp(argv[i], stage->name) == 0)
            return true;
    return argc <= 2;
}

int main(int argc, char **argv)
{
    bool disk = argc > 1 && strcmp(argv[1], "disk") == 0;
    uint64_t state = test_seed() | 1;

    if (argc < 2 || (!disk && strcmp(argv[1], "memory") != 0)) {
        fprintf(stderr, "usage: memory|disk [STAGE...]\n");
        return 2;
    }
    signal(SIGPIPE, SIG_IGN);
    bench_open();
    for (const struct stage *stage = stages; stage->name != NULL; stage++)
        if (meant(stage, argc, argv) && (!disk || stage->writes))
            try_stage(stage, disk, &state);
    bench_close();
    return 0;
}
