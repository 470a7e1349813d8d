/* A transport that answers by script and holds what is settled good, as the
 * real one does. For tests. */
#ifndef SCRIPTED_TRANSPORT_H
#define SCRIPTED_TRANSPORT_H

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "source/transport.h"

enum { SCRIPT_MAX_HELD = 32, SCRIPT_MAX_ASKED = 64 };

struct script_row {
    const char *url_part;
    char *body; /* owned by the test; NULL: in trouble */
    int status; /* told with the answer */
};

struct script_held {
    char *url, *body;
    utc_s fetched;
};

struct script {
    struct script_row rows[8];
    int row_count;
    char *asked[SCRIPT_MAX_ASKED]; /* addresses, in order; owned */
    bool renewed[SCRIPT_MAX_ASKED];
    int asked_count;
    struct script_held held[SCRIPT_MAX_HELD];
    int held_count;
    int good, bad;    /* settled */
    char reason[512]; /* of the last bad one */
    char *pending_url, *pending_body;
    utc_s now;
};

static inline struct script_held *script_find_held(struct script *script,
                                                   const char *url)
{
    for (int i = 0; i < script->held_count; i++)
        if (strcmp(script->held[i].url, url) == 0)
            return &script->held[i];
    return NULL;
}

static inline void script_answer(struct script *script, utc_s now,
                                 const struct transport_request *request,
                                 struct transport_answer *answer)
{
    struct script_held *held = script_find_held(script, request->url);

    if (script->asked_count < SCRIPT_MAX_ASKED) {
        script->renewed[script->asked_count] = request->renew;
        script->asked[script->asked_count++] = mem_copy_text(request->url);
    }
    answer->next = now + 1800;
    if (held != NULL) {
        answer->held = mem_copy_text(held->body);
        answer->held_length = strlen(held->body);
        answer->held_fetched = held->fetched;
    }
    for (int i = 0; i < script->row_count; i++) {
        const struct script_row *row = &script->rows[i];

        if (strstr(request->url, row->url_part) == NULL)
            continue;
        answer->status = row->status;
        if (row->body != NULL) {
            answer->body = mem_copy_text(row->body);
            answer->length = strlen(row->body);
            answer->fetched = now;
            return;
        }
    }
    snprintf(answer->trouble, sizeof answer->trouble,
             "example.org cannot be reached");
}

static inline void script_fetch(void *self, utc_s now,
                                const struct transport_request *requests,
                                int count, struct transport_answer *answers)
{
    for (int i = 0; i < count; i++)
        script_answer(self, now, &requests[i], &answers[i]);
}

/* Holds the body that the script has for the address now. */
static inline void script_settle(void *self, utc_s now, const char *url,
                                 bool good, const char *reason,
                                 struct transport_answer *answer)
{
    struct script *script = self;
    struct script_held *held = script_find_held(script, url);

    (void)answer;
    if (!good) {
        script->bad++;
        snprintf(script->reason, sizeof script->reason, "%s", reason);
        return;
    }
    script->good++;
    if (held == NULL) {
        held = &script->held[script->held_count++];
        held->url = mem_copy_text(url);
    }
    free(held->body);
    held->body = NULL;
    for (int i = 0; i < script->row_count && held->body == NULL; i++)
        if (strstr(url, script->rows[i].url_part) != NULL)
            held->body = mem_copy_text(script->rows[i].body);
    held->fetched = now;
}

static inline struct transport script_transport(struct script *script)
{
    return (struct transport){script, script_fetch, script_settle};
}

static inline void script_forget_asked(struct script *script)
{
    for (int i = 0; i < script->asked_count; i++)
        free(script->asked[i]);
    script->asked_count = 0;
}

static inline void script_forget_held(struct script *script)
{
    for (int i = 0; i < script->held_count; i++) {
        free(script->held[i].url);
        free(script->held[i].body);
    }
    memset(script->held, 0, sizeof script->held);
    script->held_count = 0;
}

static inline void script_free(struct script *script)
{
    script_forget_asked(script);
    script_forget_held(script);
}

#endif
