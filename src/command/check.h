/* What the files of `thawbell check` share. */
#ifndef COMMAND_CHECK_H
#define COMMAND_CHECK_H

#include "base/json.h"
#include "command/options.h"
#include "config/config.h"
#include "publish/bulletin.h"

/* Its options, as rows of its table. */
enum { CHECK_KEYS, CHECK_EXPLAIN, CHECK_EXAMPLE };

/* One configuration file, looked at. */
struct checked {
    char *path;            /* owned */
    struct config *config; /* owned; NULL: errors tell why */
    struct error_list errors, warnings;
    char *folder;              /* of its published files, owned */
    struct bulletin *bulletin; /* owned; NULL: none, or unreadable */
    char *bulletin_path;       /* owned */
    struct error unreadable;   /* "" or why the bulletin cannot be read */
    cJSON *mail;               /* mail.json, owned; NULL: none, or unreadable */
    struct error mail_unreadable; /* "" or why */
    struct error store_unusable;  /* "" or why it cannot be opened */
};

/* What is doubtful on this machine now: secrets that others may read, files
 * and folders that are missing, a tapping date of another season. */
void check_files(const struct config *config, utc_s now,
                 struct error_list *warnings);

/* The one line of a file of a secret, owned by the caller (secret_free); "" if
 * it holds none or more; NULL if it is not there or not ours to read. */
char *check_secret(const char *path);

/* How it stands with what is published: EXIT_DONE, or EXIT_FAILED and a
 * sentence on standard error when it is unreadable, a day old, or has no
 * service in use. */
int check_state(const struct checked *checked, utc_s now);
void check_print_state(const struct checked *checked, utc_s now);

/* The mail that waits and that was given up. The state is EXIT_FAILED, with a
 * sentence on standard error, if any was given up in the last three days. */
void check_read_mail(struct checked *checked);
void check_print_mail(const struct checked *checked);
int check_mail_state(const struct checked *checked, utc_s now);

/* The store, which all operations share: whether it can be opened, for whom it
 * is, and stores set aside beside it, as warnings. The state is EXIT_FAILED,
 * with a sentence on standard error, if it cannot. */
void check_read_store(struct checked *checked);
int check_store_state(const struct checked *checked);

/* What was understood, in the user's units. */
void check_print_summary(const struct config *config, enum unit_system units);

/* All of it for programs; thawbell(1) names the members. */
void check_print_json(const struct checked *files, int count, utc_s now);

/* --keys, --explain KEY, --example: exit status. */
int check_print_keys(void);
int check_explain(const char *key);
int check_print_example(void);

#endif
