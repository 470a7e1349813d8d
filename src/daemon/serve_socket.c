#include "daemon/serve_socket.h"

#include <arpa/inet.h>
#include <errno.h>
#include <netinet/in.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#include "base/units.h"
#include "base/words.h"
#include "daemon/serve.h"

/* "HOST:PORT" or "[HOST]:PORT", numeric; 0 or -1. */
static int read_address(const char *words, struct sockaddr_storage *out)
{
    struct sockaddr_in *v4 = (struct sockaddr_in *)out;
    struct sockaddr_in6 *v6 = (struct sockaddr_in6 *)out;
    const char *colon = strrchr(words, ':');
    char host[64];
    long port;
    int bracket = words[0] == '[';
    size_t length = colon != NULL ? (size_t)(colon - words) : 0;

    memset(out, 0, sizeof *out);
    if (length < 2 || length >= sizeof host ||
        !integer_parse(colon + 1, 0, 65535, &port))
        return -1;
    length -= bracket ? 2 : 0;
    memcpy(host, words + bracket, length);
    host[length] = '\0';
    if (bracket) {
        v6->sin6_family = AF_INET6;
        v6->sin6_port = htons((uint16_t)port);
        return inet_pton(AF_INET6, host, &v6->sin6_addr) == 1 ? 0 : -1;
    }
    v4->sin_family = AF_INET;
    v4->sin_port = htons((uint16_t)port);
    return inet_pton(AF_INET, host, &v4->sin_addr) == 1 ? 0 : -1;
}

int serve_socket_open(const char *listen_on, struct error *err)
{
    struct sockaddr_storage address;
    socklen_t size = sizeof(struct sockaddr_in);
    int fd, yes = 1;

    if (read_address(listen_on, &address) != 0)
        return error_set(err, _("%s is no address to listen on"), listen_on);
    if (address.ss_family == AF_INET6)
        size = sizeof(struct sockaddr_in6);
    fd = socket(address.ss_family, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK,
                0);
    if (fd >= 0 &&
        setsockopt(fd, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes) == 0 &&
        (address.ss_family == AF_INET ||
         setsockopt(fd, IPPROTO_IPV6, IPV6_V6ONLY, &yes, sizeof yes) == 0) &&
        bind(fd, (struct sockaddr *)&address, size) == 0 &&
        listen(fd, SOMAXCONN) == 0)
        return fd;
    error_set(err, _("%s cannot be listened on: %s"), listen_on,
              words_errno(errno));
    if (fd >= 0)
        close(fd);
    return -1;
}

int serve_socket_port(int fd)
{
    struct sockaddr_storage address;
    socklen_t size = sizeof address;

    if (getsockname(fd, (struct sockaddr *)&address, &size) != 0)
        return 0;
    if (address.ss_family == AF_INET6)
        return ntohs(((struct sockaddr_in6 *)&address)->sin6_port);
    return address.ss_family == AF_INET
               ? ntohs(((struct sockaddr_in *)&address)->sin_port)
               : 0;
}

int serve_handed_socket(void)
{
    enum { FIRST = 3 };
    const char *process = getenv("LISTEN_PID"), *sockets = getenv("LISTEN_FDS");
    int listening = 0;
    socklen_t size = sizeof listening;
    long number, count;
    int fd = -1;

    if (process != NULL && sockets != NULL &&
        integer_parse(process, 1, 1L << 30, &number) && number == getpid() &&
        integer_parse(sockets, 1, 1, &count) &&
        getsockopt(FIRST, SOL_SOCKET, SO_ACCEPTCONN, &listening, &size) == 0 &&
        listening)
        fd = FIRST;
    unsetenv("LISTEN_PID");
    unsetenv("LISTEN_FDS");
    return fd;
}
