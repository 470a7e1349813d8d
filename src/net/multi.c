#include "net/multi.h"

#include <curl/curl.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/epoll.h>
#include <unistd.h>

#include "base/memory.h"
#include "base/words.h"
#include "net/clock.h"

enum { EVENTS_A_ROUND = 16 };

struct multi {
    CURLM *curl;
    int epoll;
    int64_t due_ms; /* steady time of libcurl's timer; -1: none */
};

/* libcurl says which of its sockets it waits for. `known` is any pointer of
 * ours once the socket is in the set. */
static int watch_socket(CURL *easy, curl_socket_t socket, int what, void *self,
                        void *known)
{
    struct multi *multi = self;
    struct epoll_event event;

    (void)easy;
    memset(&event, 0, sizeof event);
    event.data.fd = socket;
    if (what == CURL_POLL_REMOVE) {
        epoll_ctl(multi->epoll, EPOLL_CTL_DEL, socket, NULL);
        curl_multi_assign(multi->curl, socket, NULL);
        return 0;
    }
    if (what != CURL_POLL_OUT)
        event.events |= EPOLLIN;
    if (what != CURL_POLL_IN)
        event.events |= EPOLLOUT;
    if (epoll_ctl(multi->epoll, known != NULL ? EPOLL_CTL_MOD : EPOLL_CTL_ADD,
                  socket, &event) != 0 &&
        epoll_ctl(multi->epoll, known != NULL ? EPOLL_CTL_ADD : EPOLL_CTL_MOD,
                  socket, &event) != 0)
        return -1;
    curl_multi_assign(multi->curl, socket, multi);
    return 0;
}

static int set_timer(CURLM *curl, long wait_ms, void *self)
{
    struct multi *multi = self;

    (void)curl;
    multi->due_ms = wait_ms < 0 ? -1 : net_clock_ms() + wait_ms;
    return 0;
}

struct multi *multi_open(struct error *err)
{
    struct multi *multi = mem_alloc(1, sizeof *multi);

    multi->due_ms = -1;
    multi->epoll = epoll_create1(EPOLL_CLOEXEC);
    if (multi->epoll < 0) {
        error_set(err, _("no descriptor for the network: %s"),
                  words_errno(errno));
        multi_free(multi);
        return NULL;
    }
    multi->curl = curl_multi_init();
    if (multi->curl == NULL) {
        error_set(err, "%s", _("the network library gives no handle"));
        multi_free(multi);
        return NULL;
    }
    curl_multi_setopt(multi->curl, CURLMOPT_SOCKETFUNCTION, watch_socket);
    curl_multi_setopt(multi->curl, CURLMOPT_SOCKETDATA, multi);
    curl_multi_setopt(multi->curl, CURLMOPT_TIMERFUNCTION, set_timer);
    curl_multi_setopt(multi->curl, CURLMOPT_TIMERDATA, multi);
    return multi;
}

void multi_free(struct multi *multi)
{
    if (multi == NULL)
        return;
    if (multi->curl != NULL)
        curl_multi_cleanup(multi->curl);
    if (multi->epoll >= 0)
        close(multi->epoll);
    free(multi);
}

void *multi_curl(struct multi *multi)
{
    return multi->curl;
}

int multi_fd(const struct multi *multi)
{
    return multi->epoll;
}

int multi_wait_ms(const struct multi *multi)
{
    int64_t left;

    if (multi->due_ms < 0)
        return -1;
    left = multi->due_ms - net_clock_ms();
    return left < 0 ? 0 : left > 60000 ? 60000 : (int)left;
}

static int mask_of(uint32_t events)
{
    int mask = 0;

    if (events & (EPOLLIN | EPOLLHUP))
        mask |= CURL_CSELECT_IN;
    if (events & EPOLLOUT)
        mask |= CURL_CSELECT_OUT;
    if (events & EPOLLERR)
        mask |= CURL_CSELECT_ERR;
    return mask;
}

void multi_work(struct multi *multi)
{
    struct epoll_event events[EVENTS_A_ROUND];
    int running = 0, count;

    if (multi->due_ms >= 0 && net_clock_ms() >= multi->due_ms) {
        multi->due_ms = -1;
        curl_multi_socket_action(multi->curl, CURL_SOCKET_TIMEOUT, 0, &running);
    }
    count = epoll_wait(multi->epoll, events, EVENTS_A_ROUND, 0);
    for (int i = 0; i < count; i++)
        curl_multi_socket_action(multi->curl, events[i].data.fd,
                                 mask_of(events[i].events), &running);
}
