/* The configured operations as the daemon holds them between turns. */
#ifndef DAEMON_OPERATION_H
#define DAEMON_OPERATION_H

#include <stdbool.h>

#include "base/digest.h"
#include "command/options.h"
#include "config/config.h"

/* Members, series and bulletins are not kept: what is known is published or
 * in the store. */
struct daemon_operation {
    int place;                /* among all, from 0 */
    struct config *config;    /* owned */
    struct zone *zone;        /* owned */
    char *folder;             /* of its published files, owned */
    char digest[DIGEST_SIZE]; /* of the configuration file's bytes */
    utc_s next;               /* its next turn */
    bool under_way;           /* a turn */
    utc_s turned;             /* its last turn, 0: none in this process */
    bool fresh;               /* as its last turn_result said */
    utc_s weather_from;       /* of its published bulletin, 0: none known */
    bool kept_back; /* a newer one was made and could not be written */
    /* What was wrong in its last turn, and since when something is. */
    struct error_list troubles;
    utc_s trouble_since;      /* 0: all is well */
    struct civil_date pruned; /* the civil day the store was pruned on */
    bool mail_moved;          /* its outbox is another one: for the server */
};

/* One file; NULL with all that is wrong in errors. */
struct config *operation_read(const char *path, struct error_list *errors,
                              struct error_list *warnings);
/* Is it the one meant by -o, by name or slug? NULL means all. */
bool operation_chosen(const struct config *config, const char *name);

/* All operations that the options mean, in the order of their files. -1 with
 * all that is wrong in all files; nothing is then handed out. */
int operations_read(const struct options *options,
                    struct daemon_operation ***operations, int *count,
                    struct error_list *errors, struct error_list *warnings);
void operations_free(struct daemon_operation **operations, int count);

/* What was known of the old operations goes over to the new ones of the same
 * slug. One whose file has not changed keeps its next turn; the others turn
 * at once, many of them spread over `now` and what follows. */
void operations_inherit(struct daemon_operation **operations, int count,
                        struct daemon_operation **old, int old_count,
                        utc_s now);

/* Two writers of one store would tell two stories: the second one goes. The
 * lock lives as long as the descriptor, which is returned; -1 and a sentence.
 * *at_work: another process has it. */
int state_lock(const char *state, bool *at_work, struct error *err);

#endif
