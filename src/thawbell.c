/* thawbell, the client: finds the command, parses its options, runs it. It
 * links no network library and needs no trust. */
#include <stdio.h>
#include <string.h>

#include "base/file.h"
#include "base/log.h"
#include "base/memory.h"
#include "base/words.h"
#include "command/options.h"

static const char program[] = "thawbell";

static int complain(const char *sentence)
{
    fprintf(stderr, "%s: %s\n", program, sentence);
    return EXIT_USAGE;
}

static int unknown_command(const char *word)
{
    struct error err;
    const char *near = command_nearest(word);
    if (near)
        error_set(&err, _("command \"%.60s\" is not known; did you mean %s?"),
                  word, near);
    else
        error_set(&err, _("command \"%.60s\" is not known; see %s --help"),
                  word, program);
    return complain(err.text);
}

static int wrong_words(const struct command *command,
                       const struct options *options)
{
    struct error err;
    if (options->word_count < command->min_words)
        error_set(&err, _("a word is missing. Usage: %s %s"), program,
                  command->usage);
    else
        error_set(&err, _("\"%.60s\" is a word too many. Usage: %s %s"),
                  options->words[command->max_words], program, command->usage);
    return complain(err.text);
}

/* What was printed must have arrived: a full disk or a closed pipe is an
 * error, not a success. */
static int finish(int code)
{
    if (fflush(stdout) == 0 && !ferror(stdout))
        return code;
    fprintf(stderr, _("%s: the output could not be written\n"), program);
    return code == EXIT_DONE ? EXIT_FAILED : code;
}

static int run(const struct command *command, const struct options *options)
{
    if (options->version) {
        printf("%s %s\n", program, program_version());
        return EXIT_DONE;
    }
    if (options->help) {
        options_help(program, command);
        return EXIT_DONE;
    }
    if (!command)
        return command_line(options);
    if (options->word_count < command->min_words ||
        options->word_count > command->max_words)
        return wrong_words(command, options);
    return command->run(options);
}

static void set_log_level(int verbosity)
{
    if (verbosity < 0)
        log_set_level(LOG_LEVEL_ERROR);
    else if (verbosity == 1)
        log_set_level(LOG_LEVEL_INFO);
    else if (verbosity > 1)
        log_set_level(LOG_LEVEL_DEBUG);
}

/* Takes the command's name out of argv. */
static void drop_word(int *argc, char **argv, int at)
{
    for (int i = at; i < *argc; i++)
        argv[i] = argv[i + 1];
    (*argc)--;
}

int main(int argc, char **argv)
{
    struct options options;
    struct error err = {""};
    const struct command *command = NULL;
    words_program(options_language(argc, argv));
    if (argc == 3 && strcmp(argv[1], "--completion") == 0)
        return finish(options_completion(argv[2]) ? EXIT_USAGE : EXIT_DONE);
    int at = options_find_command(argc, argv);
    if (at > 0) {
        command = command_find(argv[at]);
        if (!command)
            return unknown_command(argv[at]);
        drop_word(&argc, argv, at);
    }
    if (options_parse(argc, argv, command ? command->rows : NULL, &options,
                      &err))
        return complain(err.text);
    set_log_level(options.verbosity);
    return finish(run(command, &options));
}
