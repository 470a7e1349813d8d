/* Sockets that listen. Inside daemon/ only. */
#ifndef DAEMON_SERVE_SOCKET_H
#define DAEMON_SERVE_SOCKET_H

#include "base/error.h"

/* A listening socket on "HOST:PORT" or "[HOST]:PORT", numeric; -1 and a
 * sentence that names the address and the reason. */
int serve_socket_open(const char *listen_on, struct error *err);
/* 0 if it has none. */
int serve_socket_port(int fd);

#endif
