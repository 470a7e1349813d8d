/* Addresses on the net, as far as a configuration needs them. */
#include <arpa/inet.h>
#include <string.h>

#include "config/reading.h"

static bool is_alnum(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ||
           (c >= '0' && c <= '9');
}

bool port_valid(const char *words)
{
    long port;
    return words[strspn(words, "0123456789")] == '\0' &&
           integer_parse(words, 1, 65535, &port);
}

/* Length of a host name or IPv4 address at the start of the text. */
static size_t name_length(const char *words)
{
    size_t length = 0;
    while (is_alnum(words[length]) || words[length] == '.' ||
           words[length] == '-')
        length++;
    return length;
}

static bool ipv6_valid(const char *host, size_t length)
{
    char copy[INET6_ADDRSTRLEN];
    struct in6_addr address;
    if (length >= sizeof copy)
        return false;
    memcpy(copy, host, length);
    copy[length] = '\0';
    return inet_pton(AF_INET6, copy, &address) == 1;
}

/* Reads the host and returns what follows it, or NULL. */
static const char *host_parse(const char *words, struct url_parts *out)
{
    if (*words != '[') {
        out->host = words;
        out->host_length = name_length(words);
        return out->host_length > 0 ? words + out->host_length : NULL;
    }
    const char *end = strchr(words, ']');
    out->host = words + 1;
    out->host_length = end ? (size_t)(end - words) - 1 : 0;
    return end && ipv6_valid(out->host, out->host_length) ? end + 1 : NULL;
}

static bool port_parse(const char **at)
{
    if (**at != ':')
        return true;
    char copy[8] = "";
    size_t length = strcspn(++*at, "/");
    if (length >= sizeof copy)
        return false;
    memcpy(copy, *at, length);
    *at += length;
    return port_valid(copy);
}

static bool path_valid(const char *path)
{
    if (*path != '\0' && *path != '/')
        return false;
    for (; *path; path++)
        if (*path <= 0x20 || *path > 0x7E || strchr("?#\"<>\\^`{|}", *path))
            return false;
    return true;
}

bool url_parse(const char *url, struct url_parts *out)
{
    const char *mark = strstr(url, "://");
    if (!mark || mark == url)
        return false;
    out->scheme_length = (size_t)(mark - url);
    const char *at = host_parse(mark + 3, out);
    if (!at || !port_parse(&at) || !path_valid(at))
        return false;
    out->path = at;
    return true;
}

bool url_has_scheme(const char *url, const struct url_parts *parts,
                    const char *scheme)
{
    return parts->scheme_length == strlen(scheme) &&
           strncmp(url, scheme, parts->scheme_length) == 0;
}

bool host_is_loopback(const char *host, size_t length)
{
    char copy[INET6_ADDRSTRLEN] = "";
    if (length >= sizeof copy)
        return false;
    memcpy(copy, host, length);
    struct in_addr v4;
    struct in6_addr v6;
    if (strcmp(copy, "localhost") == 0)
        return true;
    if (inet_pton(AF_INET, copy, &v4) == 1)
        return (ntohl(v4.s_addr) >> 24) == 127;
    return inet_pton(AF_INET6, copy, &v6) == 1 && IN6_IS_ADDR_LOOPBACK(&v6);
}
