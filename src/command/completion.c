/* Completions for the shells, generated from the tables of commands and
 * options; contrib/completions holds what this prints. */
#include <stdio.h>
#include <string.h>

#include "command/options.h"

typedef void row_printer(const struct option_row *row, const char *command);

static void each_row(const struct option_row *rows, const char *command,
                     row_printer *print)
{
    for (; rows && rows->name; rows++)
        print(rows, command);
}

static bool takes_file(const struct option_row *row)
{
    return row->value && strcmp(row->value, "FILE") == 0;
}

static bool takes_words(const struct option_row *row)
{
    return row->value && strchr(row->value, '|');
}

/* "us|metric" with other separators. */
static void print_words(const char *words, char separator)
{
    for (; *words; words++)
        putchar(*words == '|' ? separator : *words);
}

/* Text inside single quotes of the shell, brackets escaped for zsh. */
static void print_quoted(const char *words)
{
    for (; *words; words++) {
        if (*words == '\'')
            fputs("'\\''", stdout);
        else if (*words == '[' || *words == ']' || *words == ':')
            printf("\\%c", *words);
        else
            putchar(*words);
    }
}

/* Does the command take a file as a word of its own? */
static bool command_takes_file(const struct command *command)
{
    const char *last = strrchr(command->usage, ' ');
    return last && command->max_words > 0 && strstr(last, "FILE");
}

/* --- bash --- */

static void bash_names(const struct option_row *row, const char *command)
{
    (void)command;
    if (row->letter)
        printf(" -%c", row->letter);
    printf(" %s", row->name);
}

static void bash_value(const struct option_row *row, const char *command)
{
    (void)command;
    if (!row->value)
        return;
    if (row->letter)
        printf("    -%c | %s)\n", row->letter, row->name);
    else
        printf("    %s)\n", row->name);
    if (takes_file(row))
        puts("        mapfile -t COMPREPLY < <(compgen -f -- \"$current\")");
    if (takes_words(row)) {
        fputs("        mapfile -t COMPREPLY < <(compgen -W '", stdout);
        print_words(row->value, ' ');
        puts("' -- \"$current\")");
    }
    puts("        return\n        ;;");
}

static void bash_command(const struct command *command)
{
    printf("    %s)\n        options+='", command->name);
    each_row(command->rows, command->name, bash_names);
    puts("'");
    if (command_takes_file(command))
        puts("        mapfile -t COMPREPLY < <(compgen -f -- \"$current\")");
    puts("        ;;");
}

static void bash_print(void)
{
    const struct command *const *row;
    puts("# Completion of thawbell for bash; generated, see tests/rules.\n"
         "_thawbell()\n{\n"
         "    local current=${COMP_WORDS[COMP_CWORD]}\n"
         "    local previous=${COMP_WORDS[COMP_CWORD - 1]}\n"
         "    local command='' commands='' options='' word\n"
         "    COMPREPLY=()");
    fputs("    commands='", stdout);
    for (row = command_table(); *row; row++)
        printf("%s%s", row == command_table() ? "" : " ", (*row)->name);
    fputs("'\n    options='", stdout);
    each_row(options_common(), "", bash_names);
    puts("'\n    case $previous in");
    each_row(options_common(), "", bash_value);
    for (row = command_table(); *row; row++)
        each_row((*row)->rows, (*row)->name, bash_value);
    puts("    esac\n"
         "    for word in \"${COMP_WORDS[@]:1:COMP_CWORD-1}\"; do\n"
         "        [[ \" $commands \" == *\" $word \"* ]] && command=$word\n"
         "    done\n"
         "    case $command in\n"
         "    '') options+=\" $commands\" ;;");
    for (row = command_table(); *row; row++)
        bash_command(*row);
    puts("    esac\n"
         "    mapfile -t -O \"${#COMPREPLY[@]}\" COMPREPLY < <(\n"
         "        compgen -W \"$options\" -- \"$current\")\n"
         "}\n"
         "complete -o filenames -F _thawbell thawbell");
}

/* --- zsh --- */

static void zsh_row(const struct option_row *row, const char *command)
{
    (void)command;
    for (int i = row->letter ? 0 : 1; i < 2; i++) {
        fputs("        '", stdout);
        if (i == 0)
            printf("-%c[", row->letter);
        else
            printf("%s[", row->name);
        print_quoted(row->help);
        putchar(']');
        if (takes_words(row)) {
            fputs(":value:(", stdout);
            print_words(row->value, ' ');
            putchar(')');
        } else if (row->value) {
            putchar(':');
            print_quoted(row->value);
            fputs(takes_file(row) ? ":_files" : ":", stdout);
        }
        puts("'");
    }
}

static void zsh_print(void)
{
    const struct command *const *row;
    puts("#compdef thawbell\n"
         "# Completion of thawbell for zsh; generated, see tests/rules.\n"
         "_thawbell()\n{\n"
         "    local -a commands common own\n"
         "    local -i at\n"
         "    commands=(");
    for (row = command_table(); *row; row++) {
        printf("        '%s:", (*row)->name);
        print_quoted((*row)->summary);
        puts("'");
    }
    puts("    )\n    common=(");
    each_row(options_common(), "", zsh_row);
    puts("    )\n"
         "    for (( at = 2; at < CURRENT; at++ )); do\n"
         "        case $words[at] in");
    for (row = command_table(); *row; row++) {
        printf("        %s)\n            own=(\n", (*row)->name);
        each_row((*row)->rows, (*row)->name, zsh_row);
        if (command_takes_file(*row))
            puts("        '*:file:_files'");
        puts("            )\n"
             "            _arguments -s ': :' $common $own\n"
             "            return\n            ;;");
    }
    puts("        esac\n    done\n"
         "    _arguments -s $common ': :->command'\n"
         "    [[ $state == command ]] && _describe command commands\n"
         "}\n"
         "_thawbell \"$@\"");
}

/* --- fish --- */

static void fish_row(const struct option_row *row, const char *command)
{
    fputs("complete -c thawbell", stdout);
    if (*command)
        printf(" -n '__fish_seen_subcommand_from %s'", command);
    if (row->letter)
        printf(" -s %c", row->letter);
    printf(" -l %s", row->name + 2);
    if (takes_words(row)) {
        fputs(" -x -a '", stdout);
        print_words(row->value, ' ');
        putchar('\'');
    } else if (row->value) {
        fputs(takes_file(row) ? " -r -F" : " -x", stdout);
    }
    fputs(" -d '", stdout);
    for (const char *at = row->help; *at; at++)
        fputs(*at == '\'' ? "\\'" : (char[]){*at, '\0'}, stdout);
    puts("'");
}

static void fish_print(void)
{
    const struct command *const *row;
    puts("# Completion of thawbell for fish; generated, see tests/rules.\n"
         "complete -c thawbell -f");
    for (row = command_table(); *row; row++) {
        printf("complete -c thawbell -n __fish_use_subcommand -a %s -d '",
               (*row)->name);
        for (const char *at = (*row)->summary; *at; at++)
            fputs(*at == '\'' ? "\\'" : (char[]){*at, '\0'}, stdout);
        puts("'");
        if (command_takes_file(*row))
            printf("complete -c thawbell -n '__fish_seen_subcommand_from "
                   "%s' -F\n",
                   (*row)->name);
        each_row((*row)->rows, (*row)->name, fish_row);
    }
    each_row(options_common(), "", fish_row);
}

int options_completion(const char *shell)
{
    if (strcmp(shell, "bash") == 0)
        bash_print();
    else if (strcmp(shell, "zsh") == 0)
        zsh_print();
    else if (strcmp(shell, "fish") == 0)
        fish_print();
    else
        return -1;
    return 0;
}
