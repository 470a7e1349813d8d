/* Clear text for this machine alone: whatever a name was resolved to. */
#ifndef NET_LOOPBACK_H
#define NET_LOOPBACK_H

#include <curl/curl.h>

/* CURLOPT_OPENSOCKETFUNCTION: a socket for a loopback address, else none. */
curl_socket_t loopback_open(void *self, curlsocktype purpose,
                            struct curl_sockaddr *address);

#endif
