#include "net/loopback.h"

#include <netinet/in.h>
#include <stdbool.h>
#include <string.h>
#include <sys/socket.h>

static bool is_loopback(const struct sockaddr *address)
{
    struct sockaddr_in in;
    struct sockaddr_in6 in6;

    if (address->sa_family == AF_INET) {
        memcpy(&in, address, sizeof in);
        return ntohl(in.sin_addr.s_addr) >> 24 == 127;
    }
    if (address->sa_family == AF_INET6) {
        memcpy(&in6, address, sizeof in6);
        return IN6_IS_ADDR_LOOPBACK(&in6.sin6_addr);
    }
    return false;
}

curl_socket_t loopback_open(void *self, curlsocktype purpose,
                            struct curl_sockaddr *address)
{
    (void)self;
    (void)purpose;
    if (!is_loopback(&address->addr))
        return CURL_SOCKET_BAD;
    return socket(address->family, address->socktype | SOCK_CLOEXEC,
                  address->protocol);
}
