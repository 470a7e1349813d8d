/* Transfers in threads of their own: libcurl stands still while it waits for
 * the answer to a body, for as long as the server thinks it over. A thread
 * has its job alone; what is shared is the two lists, behind the lock. */
#include "net/smtp.h"

#include <errno.h>
#include <poll.h>
#include <pthread.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/eventfd.h>
#include <unistd.h>

#include "base/memory.h"
#include "base/words.h"
#include "net/smtp_job.h"

enum { STEP_MS = 500, MAX_THREADS = 4 };

struct smtp {
    struct smtp_caps caps;
    int event; /* readable while jobs have ended */
    int under_way;
    pthread_t threads[MAX_THREADS];
    int thread_count;
    atomic_bool stop;
    pthread_mutex_t lock; /* of what follows */
    pthread_cond_t come;  /* a job, or the end */
    struct smtp_job *waiting, *ended;
    int idle; /* threads that wait for a job */
};

struct smtp_caps smtp_caps_default(void)
{
    return (struct smtp_caps){.connect_ms = 60000,
                              .reply_s = 120,
                              .accept_s = 600,
                              .total_ms = 15 * 60 * 1000};
}

struct smtp *smtp_open(const struct smtp_caps *caps, struct error *err)
{
    struct smtp *smtp = mem_alloc(1, sizeof *smtp);

    smtp->caps = caps != NULL ? *caps : smtp_caps_default();
    smtp->event = eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK);
    if (smtp->event < 0) {
        error_set(err, _("mail: no descriptor is left: %s"),
                  words_errno(errno));
        free(smtp);
        return NULL;
    }
    pthread_mutex_init(&smtp->lock, NULL);
    pthread_cond_init(&smtp->come, NULL);
    return smtp;
}

static void list_free(struct smtp_job *list)
{
    while (list != NULL) {
        struct smtp_job *next = list->next;

        smtp_job_free(list);
        list = next;
    }
}

void smtp_free(struct smtp *smtp)
{
    if (smtp == NULL)
        return;
    pthread_mutex_lock(&smtp->lock);
    atomic_store(&smtp->stop, true);
    pthread_cond_broadcast(&smtp->come);
    pthread_mutex_unlock(&smtp->lock);
    for (int i = 0; i < smtp->thread_count; i++)
        pthread_join(smtp->threads[i], NULL);
    list_free(smtp->waiting);
    list_free(smtp->ended);
    pthread_cond_destroy(&smtp->come);
    pthread_mutex_destroy(&smtp->lock);
    close(smtp->event);
    free(smtp);
}

static void append(struct smtp_job **list, struct smtp_job *job)
{
    while (*list != NULL)
        list = &(*list)->next;
    job->next = NULL;
    *list = job;
}

/* The next job, or NULL at the end. */
static struct smtp_job *take(struct smtp *smtp)
{
    struct smtp_job *job;

    pthread_mutex_lock(&smtp->lock);
    smtp->idle++;
    while (smtp->waiting == NULL && !atomic_load(&smtp->stop))
        pthread_cond_wait(&smtp->come, &smtp->lock);
    smtp->idle--;
    job = atomic_load(&smtp->stop) ? NULL : smtp->waiting;
    if (job != NULL)
        smtp->waiting = job->next;
    pthread_mutex_unlock(&smtp->lock);
    return job;
}

static void *work(void *self)
{
    static const uint64_t one = 1;
    struct smtp *smtp = self;
    struct smtp_job *job;

    while ((job = take(smtp)) != NULL) {
        smtp_job_run(job);
        pthread_mutex_lock(&smtp->lock);
        append(&smtp->ended, job);
        pthread_mutex_unlock(&smtp->lock);
        /* It only fails when the count is full, and then it is readable. */
        (void)!write(smtp->event, &one, sizeof one);
    }
    return NULL;
}

/* Signals are for the thread of the loop. */
static int start_thread(struct smtp *smtp, struct error *err)
{
    sigset_t all, before;
    int code;

    sigfillset(&all);
    pthread_sigmask(SIG_SETMASK, &all, &before);
    code = pthread_create(&smtp->threads[smtp->thread_count], NULL, work, smtp);
    pthread_sigmask(SIG_SETMASK, &before, NULL);
    if (code == 0)
        smtp->thread_count++;
    if (smtp->thread_count > 0)
        return 0;
    error_set(err, _("mail: no thread can be started: %s"), words_errno(code));
    return 1;
}

int smtp_begin(struct smtp *smtp, const struct smtp_server *server,
               const struct smtp_mail *mail, smtp_done *done, void *self,
               struct error *err)
{
    struct smtp_job *job = mem_alloc(1, sizeof *job);
    bool more;
    int code;

    job->caps = smtp->caps;
    job->stop = &smtp->stop;
    job->done = done;
    job->self = self;
    pthread_mutex_lock(&smtp->lock);
    more = smtp->idle == 0 && smtp->thread_count < MAX_THREADS;
    pthread_mutex_unlock(&smtp->lock);
    code = smtp_job_prepare(job, server, mail, err);
    if (code == 0 && more)
        code = start_thread(smtp, err);
    if (code != 0) {
        smtp_job_free(job);
        return code;
    }
    pthread_mutex_lock(&smtp->lock);
    append(&smtp->waiting, job);
    pthread_cond_signal(&smtp->come);
    pthread_mutex_unlock(&smtp->lock);
    smtp->under_way++;
    return 0;
}

bool smtp_work(struct smtp *smtp)
{
    struct smtp_job *job, *next;
    uint64_t count;

    (void)!read(smtp->event, &count, sizeof count);
    pthread_mutex_lock(&smtp->lock);
    job = smtp->ended;
    smtp->ended = NULL;
    pthread_mutex_unlock(&smtp->lock);
    for (; job != NULL; job = next) {
        next = job->next;
        smtp->under_way--;
        /* The caller may begin another transfer from here. */
        job->done(job->self, &job->outcome);
        smtp_job_free(job);
    }
    return smtp->under_way > 0;
}

int smtp_fd(const struct smtp *smtp)
{
    return smtp->event;
}

static bool wait_and_work(struct smtp *smtp, int wait_ms)
{
    struct pollfd ready = {smtp->event, POLLIN, 0};

    if (smtp->under_way == 0)
        return false;
    poll(&ready, 1, wait_ms);
    return smtp_work(smtp);
}

int smtp_under_way(const struct smtp *smtp)
{
    return smtp->under_way;
}

static void keep_outcome(void *self, const struct smtp_outcome *outcome)
{
    *(struct smtp_outcome *)self = *outcome;
}

void smtp_send(struct smtp *smtp, const struct smtp_server *server,
               const struct smtp_mail *mail, struct smtp_outcome *outcome)
{
    struct error err;
    int code;

    memset(outcome, 0, sizeof *outcome);
    code = smtp_begin(smtp, server, mail, keep_outcome, outcome, &err);
    if (code == 0) {
        while (wait_and_work(smtp, STEP_MS))
            ;
        return;
    }
    outcome->verdict = code > 0 ? SMTP_LATER : SMTP_CONFIGURATION;
    memcpy(outcome->words, err.text, sizeof outcome->words);
}
