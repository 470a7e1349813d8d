#include "turn/file_transport.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/words.h"

static const struct file_transport_row *
find_row(const struct file_transport *self, const char *url)
{
    for (int i = 0; i < self->row_count; i++)
        if (strstr(url, self->rows[i].url_part) != NULL)
            return &self->rows[i];
    return NULL;
}

static void answer_one(const struct file_transport *self, utc_s now,
                       const struct transport_request *request,
                       struct transport_answer *answer)
{
    const struct file_transport_row *row = find_row(self, request->url);
    struct error err;
    char *path;

    answer->next = now + request->min_interval_s;
    if (row == NULL) {
        snprintf(answer->trouble, sizeof answer->trouble,
                 _("%s: there is no answer for it"), request->url);
        return;
    }
    path = file_join(self->folder, row->file);
    if (file_read(path, request->max_bytes, &answer->body, &answer->length,
                  &err) == 0) {
        answer->fetched = self->obtained;
        answer->status = 200;
    } else {
        snprintf(answer->trouble, sizeof answer->trouble, "%s", err.text);
    }
    free(path);
}

static void fetch(void *self, utc_s now,
                  const struct transport_request *requests, int count,
                  struct transport_answer *answers)
{
    for (int i = 0; i < count; i++)
        answer_one(self, now, &requests[i], &answers[i]);
}

/* Files are as good as they are: nothing is held back. */
static void settle(void *self, utc_s now, const char *url, bool good,
                   const char *reason, struct transport_answer *answer)
{
    (void)self;
    (void)now;
    (void)url;
    (void)good;
    (void)reason;
    (void)answer;
}

struct transport file_transport(struct file_transport *self)
{
    return (struct transport){self, fetch, settle};
}
