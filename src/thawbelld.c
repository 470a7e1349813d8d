/* thawbelld: the daemon, in the foreground. `--once` turns the crank once and
 * ends. */
#include <signal.h>
#include <stdio.h>
#include <string.h>

#include "base/file.h"
#include "base/log.h"
#include "base/words.h"
#include "command/options.h"
#include "daemon/once.h"
#include "daemon/post.h"
#include "daemon/run.h"
#include "net/http.h"

enum { ROW_ONCE, ROW_CHECK, ROW_MAIL_TEST };

static const struct option_row rows[] = {
    {"--once", 0, NULL,
     N_("fetch, compute and publish once for each operation, then end")},
    {"--check", 0, NULL, N_("check the configuration, as `thawbell check`")},
    {"--mail-test", 0, NULL,
     N_("send a mail to each address of each operation, then end")},
    {NULL, 0, NULL, NULL},
};

static const struct command about = {
    .name = "thawbelld",
    .summary = N_("fetches forecasts and publishes the bulletin"),
    .usage = "",
    .rows = rows,
};

static int say_usage(const char *words)
{
    fprintf(stderr, "thawbelld: %s\n", words);
    fprintf(stderr, _("thawbelld: see thawbelld --help\n"));
    return EXIT_USAGE;
}

static int run(int (*work)(const struct options *options),
               const struct options *options)
{
    struct error err;
    int code;

    if (http_global_start(&err) != 0) {
        fprintf(stderr, "thawbelld: %s\n", err.text);
        return EXIT_FAILED;
    }
    code = work(options);
    http_global_end();
    return code;
}

/* The command of this name has options of its own, in rows of its own. */
static int check(const struct options *options)
{
    struct options plain = *options;

    memset(plain.own, 0, sizeof plain.own);
    return command_check(&plain);
}

int main(int argc, char **argv)
{
    struct options options;
    struct error err;

    words_program(options_language(argc, argv));
    if (options_parse(argc, argv, rows, &options, &err) != 0)
        return say_usage(err.text);
    if (options.help) {
        options_help("thawbelld", &about);
        return EXIT_DONE;
    }
    if (options.version) {
        printf("thawbelld %s\n", program_version());
        return EXIT_DONE;
    }
    if (options.word_count > 0)
        return say_usage(_("it takes no words beside its options"));
    /* What a single turn finds wrong it says itself, in one line each. */
    log_set_level(options.verbosity > 0           ? LOG_LEVEL_DEBUG
                  : options.own[ROW_ONCE] != NULL ? LOG_LEVEL_ERROR
                  : options.verbosity < 0         ? LOG_LEVEL_ERROR
                                                  : LOG_LEVEL_WARN);
    /* A file that may not grow is an error like a full disk, not the end. */
    signal(SIGXFSZ, SIG_IGN);
    if (options.own[ROW_CHECK] != NULL)
        return check(&options);
    if (options.own[ROW_MAIL_TEST] != NULL)
        return run(mail_test_run, &options);
    if (options.own[ROW_ONCE] != NULL)
        return run(once, &options);
    if (options.has_at)
        return say_usage(_("--at is for --once; a daemon follows the clock"));
    if (options.verbosity == 0)
        log_set_level(LOG_LEVEL_INFO);
    return run(daemon_run, &options);
}
