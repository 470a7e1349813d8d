/* CPU time of `thawbell`, from exec to exit, as the system counts it: the
 * median of many runs on a bulletin of two bushes and ten days. What else the
 * machine does takes caches and clock rate from it: a median that is too high
 * is taken again after a rest, and the least counts. Machines on which the
 * bare start of the program, with its libraries, takes more than a half of
 * MOST_MS are too slow for that bound: there the line may take two such starts.
 * Usage: line_cpu PROGRAM MOST_MS */
#include <spawn.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/file.h"
#include "fake_bulletin.h"

enum { RUNS = 41, ROUNDS = 5, REST_S = 3, MOST_STARTS = 2 };

extern char **environ;

static double children_ms(void)
{
    struct rusage usage;

    getrusage(RUSAGE_CHILDREN, &usage);
    return (double)(usage.ru_utime.tv_sec + usage.ru_stime.tv_sec) * 1e3 +
           (double)(usage.ru_utime.tv_usec + usage.ru_stime.tv_usec) / 1e3;
}

static void write_file(const char *path, const char *words)
{
    struct error err = {""};

    if (file_write_whole(path, words, strlen(words), 0644, &err) == 0)
        return;
    fprintf(stderr, "%s\n", err.text);
    exit(1);
}

/* The configuration's path; what it needs lies beside it. */
static char *publish(const char *folder)
{
    struct bulletin *bulletin = fake_bulletin();
    char *json = bulletin_to_json(bulletin);
    char *public = mem_format("%s/public/tamarack-bend", folder);
    char *path = file_join(public, "bulletin.json");
    char *conf = mem_format("[operation]\nname = Tamarack Bend\n"
                            "[calendar]\npublish = %s/public\n",
                            folder);
    char *conf_path = file_join(folder, "tamarack-bend.conf");

    file_make_folder(public, 0755, NULL);
    write_file(path, json);
    write_file(conf_path, conf);
    free(json);
    free(public);
    free(path);
    free(conf);
    bulletin_free(bulletin);
    return conf_path;
}

static void clear(const char *folder)
{
    static const char *const names[] = {"public/tamarack-bend/bulletin.json",
                                        "public/tamarack-bend", "public",
                                        "tamarack-bend.conf"};

    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        char *path = file_join(folder, names[i]);

        remove(path);
        free(path);
    }
    rmdir(folder);
}

static double run_ms(char **arguments)
{
    posix_spawn_file_actions_t actions;
    double before = children_ms();
    int status = -1;
    pid_t child;

    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, "/dev/null", 1,
                                     0);
    if (posix_spawn(&child, arguments[0], &actions, NULL, arguments, environ) !=
            0 ||
        waitpid(child, &status, 0) != child || status != 0) {
        fprintf(stderr, "%s failed\n", arguments[0]);
        exit(1);
    }
    posix_spawn_file_actions_destroy(&actions);
    return children_ms() - before;
}

static int by_value(const void *left, const void *right)
{
    const double *a = left, *b = right;

    return (*a > *b) - (*a < *b);
}

static double median_ms(const char *what, char **arguments)
{
    double runs[RUNS];

    for (int i = 0; i < RUNS; i++)
        runs[i] = run_ms(arguments);
    qsort(runs, RUNS, sizeof runs[0], by_value);
    printf("%s: %.2f ms of CPU (median of %d, %.2f to %.2f)\n", what,
           runs[RUNS / 2], RUNS, runs[0], runs[RUNS - 1]);
    return runs[RUNS / 2];
}

/* Is a round within the bound? */
static bool is_quick(char *program, char *conf, double most_ms)
{
    char option_c[] = "-c", option_at[] = "--at", version[] = "--version",
         at[] = "2026-03-06T18:10:00-05:00";
    char *line[] = {program, option_c, conf, option_at, at, NULL};
    char *start[] = {program, version, NULL};
    double line_ms = median_ms("thawbell", line);

    return line_ms < most_ms ||
           line_ms < MOST_STARTS * median_ms("its start", start);
}

int main(int argc, char **argv)
{
    char folder[] = "/tmp/line-cpu-XXXXXX";
    bool quick = false;
    double most_ms;
    char *conf;

    if (argc != 3 || !number_parse(argv[2], strlen(argv[2]), &most_ms) ||
        mkdtemp(folder) == NULL)
        return 2;
    conf = publish(folder);
    for (int i = 0; i < ROUNDS && !quick; i++) {
        if (i > 0)
            sleep(REST_S);
        quick = is_quick(argv[1], conf, most_ms);
    }
    free(conf);
    clear(folder);
    if (quick)
        return 0;
    printf("that is more than %g ms, and than %d starts\n", most_ms,
           MOST_STARTS);
    return 1;
}
