#include "daemon/upload_part.h"

#include <pthread.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/eventfd.h>
#include <unistd.h>

#include "base/file.h"
#include "base/log.h"
#include "base/memory.h"
#include "base/words.h"
#include "daemon/schedule.h"
#include "daemon/status.h"
#include "net/upload.h"

enum { FIRST_RETRY_S = 60, LAST_RETRY_S = SECONDS_PER_HOUR };

/* The index that names the others comes last. */
static const char *const names[] = {"calendar.ics", "bulletin.json",
                                    "index.html"};
enum { NAMES = sizeof names / sizeof names[0] };

/* One operation that is sent somewhere. */
struct row {
    char *slug; /* owned */
    utc_s due;  /* SCHEDULE_NEVER: nothing to send */
    int failures;
    utc_s trouble_since; /* 0: none */
    char *trouble;       /* in words, or NULL; owned */
};

/* What the thread works on; all its own. */
struct work {
    char *slug, *folder, *memory;
    char *url, *user, *password_file, *host_key;
    atomic_bool stop;
    int done_fd; /* written when it is done */
    int code;
    struct upload_result result;
    struct error err;
};

struct part {
    struct row *rows; /* owned */
    int row_count;
    struct work *work; /* under way, or NULL */
    pthread_t thread;
    int done_fd;
    bool ending;
};

static struct row *row_of(struct part *part, const char *slug)
{
    for (int i = 0; i < part->row_count; i++)
        if (strcmp(part->rows[i].slug, slug) == 0)
            return &part->rows[i];
    return NULL;
}

static void add_row(struct part *part, const char *slug, utc_s due)
{
    struct row *row;

    part->rows =
        mem_resize(part->rows, (size_t)part->row_count + 1, sizeof *part->rows);
    row = &part->rows[part->row_count++];
    memset(row, 0, sizeof *row);
    row->slug = mem_copy_text(slug);
    row->due = due;
}

static void clear_rows(struct part *part)
{
    for (int i = 0; i < part->row_count; i++) {
        free(part->rows[i].slug);
        free(part->rows[i].trouble);
    }
    part->row_count = 0;
}

/* Those that are configured, each due: what is there already is not sent
 * again. */
static void settle(struct part *part, struct daemon *daemon)
{
    clear_rows(part);
    for (int i = 0; i < daemon->operation_count; i++)
        if (daemon->operations[i]->config->publish.upload != NULL)
            add_row(part, daemon->operations[i]->config->slug, daemon->now);
}

static void work_free(struct work *work)
{
    free(work->slug);
    free(work->folder);
    free(work->memory);
    free(work->url);
    free(work->user);
    free(work->password_file);
    free(work->host_key);
    free(work);
}

static struct work *work_for(const struct part *part,
                             const struct daemon *daemon,
                             const struct daemon_operation *operation)
{
    const struct config_publish *publish = &operation->config->publish;
    struct work *work = mem_alloc(1, sizeof *work);

    work->slug = mem_copy_text(operation->config->slug);
    work->folder = mem_copy_text(operation->folder);
    work->memory = mem_format("%s/%s.sent", daemon->state, work->slug);
    work->url = mem_copy_text(publish->upload);
    work->user = mem_copy_text(publish->upload_user);
    work->password_file = mem_copy_text(publish->upload_password_file);
    work->host_key = mem_copy_text(publish->upload_host_key);
    work->done_fd = part->done_fd;
    return work;
}

static void *run(void *self)
{
    struct work *work = self;
    struct upload_target target = {work->url, work->user, work->password_file,
                                   work->host_key};
    uint64_t one = 1;
    ssize_t written;

    work->code =
        upload_folder(&target, work->folder, names, NAMES, work->memory,
                      &work->stop, &work->result, &work->err);
    written = write(work->done_fd, &one, sizeof one);
    (void)written; /* an eventfd takes it always */
    return NULL;
}

static utc_s retry_s(int failures)
{
    utc_s wait = FIRST_RETRY_S;

    for (int i = 1; i < failures && wait < LAST_RETRY_S; i++)
        wait *= 2;
    return wait < LAST_RETRY_S ? wait : LAST_RETRY_S;
}

/* A trouble is told when it begins and when it ends. */
static void conclude(struct row *row, const char *name, const struct work *work,
                     utc_s now)
{
    free(row->trouble);
    row->trouble = NULL;
    if (work->code != 0) {
        utc_s next = now + retry_s(++row->failures);

        if (row->due == SCHEDULE_NEVER || row->due < next)
            row->due = next;
        row->trouble = mem_copy_text(work->err.text);
        if (row->trouble_since == 0) {
            row->trouble_since = now;
            log_warn(_("%s: %s; it is tried again"), name, work->err.text);
        }
        return;
    }
    if (row->trouble_since != 0)
        log_warn(_("%s: sending works again, after %lld min"), name,
                 (long long)(now - row->trouble_since) / 60);
    if (work->result.sent > 0)
        log_info(_("%s: %d files sent"), name, work->result.sent);
    row->failures = 0;
    row->trouble_since = 0;
}

static void upload_turned(void *self, struct daemon *daemon,
                          struct daemon_operation *operation,
                          const struct turn_result *result,
                          const struct bulletin *bulletin)
{
    struct row *row = row_of(self, operation->config->slug);

    (void)bulletin;
    /* One in trouble keeps its wait. */
    if (row != NULL && result->published > 0 && row->failures == 0)
        row->due = daemon->now;
}

static utc_s upload_due(void *self, const struct daemon *daemon)
{
    const struct part *part = self;
    utc_s first = SCHEDULE_NEVER;

    (void)daemon;
    if (part->work != NULL || part->ending)
        return SCHEDULE_NEVER;
    for (int i = 0; i < part->row_count; i++)
        if (part->rows[i].due < first)
            first = part->rows[i].due;
    return first;
}

/* No signal is the thread's to take. */
static bool start_thread(struct part *part)
{
    sigset_t all, before;
    bool started;

    sigfillset(&all);
    pthread_sigmask(SIG_SETMASK, &all, &before);
    started = pthread_create(&part->thread, NULL, run, part->work) == 0;
    pthread_sigmask(SIG_SETMASK, &before, NULL);
    return started;
}

static void begin(struct part *part, struct daemon *daemon, struct row *row)
{
    struct daemon_operation *operation = daemon_operation(daemon, row->slug);

    row->due = SCHEDULE_NEVER;
    if (operation == NULL)
        return;
    part->work = work_for(part, daemon, operation);
    if (start_thread(part))
        return;
    row->due = daemon->now + FIRST_RETRY_S;
    work_free(part->work);
    part->work = NULL;
}

static void upload_tick(void *self, struct daemon *daemon)
{
    struct part *part = self;

    for (int i = 0; i < part->row_count && part->work == NULL; i++)
        if (part->rows[i].due <= daemon->now)
            begin(part, daemon, &part->rows[i]);
}

static int upload_watch(void *self, struct pollfd *fds, int *wait_ms)
{
    const struct part *part = self;

    (void)wait_ms;
    fds[0] = (struct pollfd){part->done_fd, POLLIN, 0};
    return part->work != NULL ? 1 : 0;
}

static void upload_ready(void *self, struct daemon *daemon,
                         const struct pollfd *fds, int count)
{
    struct part *part = self;
    const struct daemon_operation *operation;
    struct row *row;
    uint64_t number;

    (void)fds;
    if (count == 0 || part->work == NULL ||
        read(part->done_fd, &number, sizeof number) != (ssize_t)sizeof number)
        return;
    pthread_join(part->thread, NULL);
    row = row_of(part, part->work->slug);
    operation = daemon_operation(daemon, part->work->slug);
    if (row != NULL && operation != NULL)
        conclude(row, operation->config->name, part->work, daemon->now);
    work_free(part->work);
    part->work = NULL;
}

static void upload_clock_set(void *self, struct daemon *daemon)
{
    struct part *part = self;

    for (int i = 0; i < part->row_count; i++)
        if (part->rows[i].due != SCHEDULE_NEVER)
            part->rows[i].due = daemon->now;
}

static void upload_reloaded(void *self, struct daemon *daemon)
{
    settle(self, daemon);
}

static void upload_status(void *self, const struct daemon *daemon,
                          struct text *out)
{
    const struct part *part = self;
    struct status_worst worst = {0};

    for (int i = 0; i < part->row_count; i++)
        if (part->rows[i].trouble != NULL)
            status_note(&worst, daemon, part->rows[i].slug,
                        part->rows[i].trouble_since, part->rows[i].trouble);
    if (worst.count > 0)
        text_addf(out, _("; %d not uploaded, %s since %s: %s"), worst.count,
                  worst.name, worst.since_words, worst.why);
}

static void upload_end(void *self, struct daemon *daemon)
{
    struct part *part = self;

    (void)daemon;
    part->ending = true;
    if (part->work != NULL)
        atomic_store(&part->work->stop, true);
}

static bool upload_ended(void *self, const struct daemon *daemon)
{
    const struct part *part = self;

    (void)daemon;
    return part->work == NULL;
}

/* A thread that does not hear of the end is left alone with its copies. */
static void upload_free(void *self)
{
    struct part *part = self;

    clear_rows(part);
    free(part->rows);
    if (part->work != NULL) {
        pthread_detach(part->thread);
        return;
    }
    close(part->done_fd);
    free(part);
}

void upload_plug(struct daemon *daemon)
{
    static const struct daemon_part functions = {.name = "upload",
                                                 .turned = upload_turned,
                                                 .due = upload_due,
                                                 .tick = upload_tick,
                                                 .watch = upload_watch,
                                                 .ready = upload_ready,
                                                 .clock_set = upload_clock_set,
                                                 .reloaded = upload_reloaded,
                                                 .status = upload_status,
                                                 .end = upload_end,
                                                 .ended = upload_ended,
                                                 .free = upload_free};
    struct part *part = mem_alloc(1, sizeof *part);

    part->done_fd = eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK);
    if (part->done_fd < 0 || daemon_plug(daemon, &functions, part) != 0) {
        log_error("%s", _("nothing will be sent: no descriptor left"));
        free(part);
        return;
    }
    settle(part, daemon);
}
