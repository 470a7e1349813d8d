/* Help, printed from the tables. */
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "base/words.h"
#include "command/options.h"

enum { HELP_COLUMN = 27, HELP_WIDTH = 79 };

/* Prints words wrapped into the right-hand column, starting at `column`. */
static void print_wrapped(const char *words, int column)
{
    if (column >= HELP_COLUMN - 1) {
        putchar('\n');
        column = 0;
    }
    printf("%*s", HELP_COLUMN - column, "");
    column = HELP_COLUMN;
    while (*words) {
        int length = (int)strcspn(words, " ");
        if (column > HELP_COLUMN && column + 1 + length > HELP_WIDTH) {
            printf("\n%*s", HELP_COLUMN, "");
            column = HELP_COLUMN;
        } else if (column > HELP_COLUMN) {
            putchar(' ');
            column++;
        }
        printf("%.*s", length, words);
        column += length;
        words += length;
        words += strspn(words, " ");
    }
    putchar('\n');
}

static void print_option(const struct option_row *row)
{
    char left[80];
    char letter[8] = "";
    if (row->letter)
        snprintf(letter, sizeof letter, "-%c, ", row->letter);
    int column =
        snprintf(left, sizeof left, "  %s%s%s%s", letter, row->name,
                 row->value ? " " : "", row->value ? _(row->value) : "");
    fputs(left, stdout);
    print_wrapped(_(row->help), column);
}

static void print_options(const struct option_row *rows)
{
    for (; rows && rows->name; rows++)
        print_option(rows);
}

static void print_commands(const char *program)
{
    printf(_("Usage: %s [COMMAND] [OPTIONS]\n"
             "When the sap runs, and what to do about it.\n"
             "Without a command: one line, today and tonight.\n\n"
             "Commands:\n"),
           program);
    for (const struct command *const *row = command_table(); *row; row++) {
        int column = printf("  %s", (*row)->usage);
        print_wrapped(_((*row)->summary), column);
    }
    printf(_("\n\"%s COMMAND --help\" tells more of one.\n"), program);
}

void options_help(const char *program, const struct command *command)
{
    if (!command) {
        print_commands(program);
    } else if (command->usage[0] == '\0') {
        printf(_("Usage: %s [OPTIONS]\n"), program);
        printf("%s\n", _(command->summary));
    } else {
        printf(_("Usage: %s %s [OPTIONS]\n"), program, command->usage);
        printf("%s\n", _(command->summary));
    }
    if (command && command->rows && command->rows->name) {
        puts(_("\nOptions of this command:"));
        print_options(command->rows);
    }
    puts(_("\nCommon options:"));
    print_options(options_common());
    puts(_("\nExit status: 0 done, 1 failed, 2 usage or configuration, "
           "75 try again later."));
}
