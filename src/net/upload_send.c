#include "net/upload_send.h"

#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/secret.h"
#include "base/text.h"
#include "base/words.h"

enum {
    CONNECT_S = 20,
    TOTAL_S = 300,
    LOW_BYTES_S = 100,
    LOW_S = 30,
    COMMAND_BYTES = 4096,
};

/* What is being sent, and what came back. */
struct sending {
    const char *bytes;
    size_t length, at;
};

static size_t give(char *out, size_t size, size_t count, void *self)
{
    struct sending *sending = self;
    size_t left = sending->length - sending->at;
    size_t length = size * count < left ? size * count : left;

    memcpy(out, sending->bytes + sending->at, length);
    sending->at += length;
    return length;
}

static int rewind_to(void *self, curl_off_t offset, int origin)
{
    struct sending *sending = self;

    if (origin != SEEK_SET || offset < 0 || (size_t)offset > sending->length)
        return CURL_SEEKFUNC_FAIL;
    sending->at = (size_t)offset;
    return CURL_SEEKFUNC_OK;
}

/* Nobody reads what the server says beside its status. */
static size_t pass_over(char *bytes, size_t size, size_t count, void *self)
{
    (void)bytes;
    (void)self;
    return size * count;
}

static int watch(void *self, curl_off_t down_all, curl_off_t down,
                 curl_off_t up_all, curl_off_t up)
{
    const struct upload_link *link = self;

    (void)down_all;
    (void)down;
    (void)up_all;
    (void)up;
    return link->stop != NULL && atomic_load(link->stop);
}

static char *host_of(const char *url)
{
    const char *at = strstr(url, "://");

    at = at != NULL ? at + 3 : url;
    return mem_copy_bytes(at, strcspn(at, "/"));
}

int upload_link_open(struct upload_link *link,
                     const struct upload_target *target,
                     const atomic_bool *stop, struct error *err)
{
    memset(link, 0, sizeof *link);
    link->target = target;
    link->stop = stop;
    link->sftp = strncmp(target->url, "sftp:", 5) == 0;
    link->host = host_of(target->url);
    if (target->password_file != NULL &&
        secret_read(target->password_file, &link->password, err) != 0)
        return -1;
    if (link->sftp && (target->host_key == NULL || link->password == NULL))
        return error_set(err, _("%s: sftp needs a login and the host's key"),
                         link->host);
    link->easy = curl_easy_init();
    if (link->easy == NULL)
        return error_set(err, "%s", _("the network library gives no handle"));
    return 0;
}

void upload_link_close(struct upload_link *link)
{
    if (link->easy != NULL)
        curl_easy_cleanup(link->easy);
    secret_free(link->password);
    free(link->host);
}

static void set_login(struct upload_link *link)
{
    CURL *easy = link->easy;

    if (link->password == NULL || link->target->user == NULL)
        return;
    curl_easy_setopt(easy, CURLOPT_USERNAME, link->target->user);
    curl_easy_setopt(easy, CURLOPT_PASSWORD, link->password);
    curl_easy_setopt(easy, CURLOPT_HTTPAUTH, (long)CURLAUTH_BASIC);
}

/* What every request has; keeps the connection of the one before. */
static void prepare(struct upload_link *link, const char *url,
                    struct sending *sending)
{
    CURL *easy = link->easy;
    bool plain = url != NULL && strncmp(url, "http:", 5) == 0;

    curl_easy_reset(easy);
    curl_easy_setopt(easy, CURLOPT_URL, url);
    curl_easy_setopt(easy, CURLOPT_PROTOCOLS_STR,
                     link->sftp ? "sftp"
                     : plain    ? "http"
                                : "https");
    curl_easy_setopt(easy, CURLOPT_SSLVERSION, (long)CURL_SSLVERSION_TLSv1_2);
    curl_easy_setopt(easy, CURLOPT_NOSIGNAL, 1L);
    curl_easy_setopt(easy, CURLOPT_FOLLOWLOCATION, 0L);
    curl_easy_setopt(easy, CURLOPT_CONNECTTIMEOUT, (long)CONNECT_S);
    curl_easy_setopt(easy, CURLOPT_TIMEOUT, (long)TOTAL_S);
    curl_easy_setopt(easy, CURLOPT_LOW_SPEED_LIMIT, (long)LOW_BYTES_S);
    curl_easy_setopt(easy, CURLOPT_LOW_SPEED_TIME, (long)LOW_S);
    curl_easy_setopt(easy, CURLOPT_NOPROGRESS, 0L);
    curl_easy_setopt(easy, CURLOPT_XFERINFOFUNCTION, watch);
    curl_easy_setopt(easy, CURLOPT_XFERINFODATA, link);
    curl_easy_setopt(easy, CURLOPT_WRITEFUNCTION, pass_over);
    curl_easy_setopt(easy, CURLOPT_READFUNCTION, give);
    curl_easy_setopt(easy, CURLOPT_READDATA, sending);
    curl_easy_setopt(easy, CURLOPT_SEEKFUNCTION, rewind_to);
    curl_easy_setopt(easy, CURLOPT_SEEKDATA, sending);
    if (plain || link->sftp)
        curl_easy_setopt(easy, CURLOPT_PROXY, "");
    set_login(link);
}

static const char *what_failed(const struct upload_link *link, CURLcode code)
{
    if (code == CURLE_ABORTED_BY_CALLBACK)
        return _("stopped");
    if (code == CURLE_PEER_FAILED_VERIFICATION)
        return link->sftp ? _("it shows another key than upload host key says")
                          : _("its certificate does not hold");
    if (code == CURLE_LOGIN_DENIED)
        return _("the login is refused");
    if (code == CURLE_REMOTE_ACCESS_DENIED)
        return _("the login may not write there");
    if (code == CURLE_REMOTE_FILE_NOT_FOUND)
        return _("there is no such folder");
    return curl_easy_strerror(code);
}

static const char *what_status(long status)
{
    if (status == 401)
        return _("the login is refused");
    if (status == 403 || status == 405)
        return _("it does not let the login write there");
    if (status == 404 || status == 409)
        return _("there is no such folder");
    if (status == 507)
        return _("its disk is full");
    if (status >= 300 && status < 400)
        return _("the folder has moved; write its new address");
    return status >= 500 ? _("it is in trouble itself") : _("it refuses");
}

/* One request of WebDAV; the status, or -1 and a sentence. */
static long request(struct upload_link *link, const char *method,
                    const char *url, const char *destination,
                    struct sending *sending, struct error *err)
{
    char *line =
        destination != NULL ? mem_format("Destination: %s", destination) : NULL;
    struct curl_slist *headers = curl_slist_append(NULL, "Expect:");
    long status = -1;
    CURLcode code;

    if (line != NULL) {
        headers = curl_slist_append(headers, line);
        headers = curl_slist_append(headers, "Overwrite: T");
    }
    prepare(link, url, sending);
    curl_easy_setopt(link->easy, CURLOPT_HTTPHEADER, headers);
    if (sending != NULL) {
        curl_easy_setopt(link->easy, CURLOPT_UPLOAD, 1L);
        curl_easy_setopt(link->easy, CURLOPT_INFILESIZE_LARGE,
                         (curl_off_t)sending->length);
    }
    curl_easy_setopt(link->easy, CURLOPT_CUSTOMREQUEST, method);
    code = curl_easy_perform(link->easy);
    if (code == CURLE_OK)
        curl_easy_getinfo(link->easy, CURLINFO_RESPONSE_CODE, &status);
    else
        error_set(err, _("%s: %s"), link->host, what_failed(link, code));
    curl_slist_free_all(headers);
    free(line);
    return status;
}

static int put(struct upload_link *link, const char *url,
               struct sending *sending, struct error *err)
{
    long status;

    sending->at = 0;
    status = request(link, "PUT", url, NULL, sending, err);
    if (status < 0)
        return -1;
    return status >= 200 && status < 300
               ? 0
               : error_set(err, _("%s answers %ld: %s"), link->host, status,
                           what_status(status));
}

/* Hosts that know PUT alone get the file put in its place directly. */
static int send_dav(struct upload_link *link, const char *name,
                    struct sending *sending, struct error *err)
{
    char *url = mem_format("%s%s", link->target->url, name);
    char *part = mem_format("%s.part", url);
    int code = put(link, part, sending, err);
    long status = 0;

    if (code == 0) {
        status = request(link, "MOVE", part, url, NULL, err);
        code = status < 0 ? -1 : 0;
    }
    if (code == 0 && (status < 200 || status >= 300)) {
        if (request(link, "DELETE", part, NULL, NULL, err) >= 0)
            code = put(link, url, sending, err);
        else
            code = -1;
    }
    free(part);
    free(url);
    return code;
}

/* A path of the address as a word of libcurl's commands: unescaped, between
 * quotes. NULL if it holds what no path of ours does. */
static char *command_path(struct upload_link *link, const char *url)
{
    const char *path = strstr(url, "://");
    struct text out;
    char *plain;
    int length = 0;

    path = path != NULL ? strchr(path + 3, '/') : NULL;
    plain =
        path != NULL ? curl_easy_unescape(link->easy, path, 0, &length) : NULL;
    if (plain == NULL)
        return NULL;
    text_init(&out, COMMAND_BYTES);
    text_add(&out, "\"");
    for (int i = 0; i < length && !out.full; i++) {
        if ((unsigned char)plain[i] < 0x20)
            out.full = true;
        else if (plain[i] == '"' || plain[i] == '\\')
            text_add(&out, "\\");
        text_add_bytes(&out, &plain[i], 1);
    }
    text_add(&out, "\"");
    curl_free(plain);
    if (!out.full)
        return text_steal(&out);
    text_free(&out);
    return NULL;
}

/* SFTP 3 renames over no file that is there, so that one goes first; for that
 * instant there is none, which readers take better than half of one. */
static struct curl_slist *moving(struct upload_link *link, const char *part,
                                 const char *url)
{
    char *from = command_path(link, part), *to = command_path(link, url);
    struct curl_slist *commands = NULL;

    if (from != NULL && to != NULL) {
        char *remove = mem_format("*rm %s", to);
        char *rename = mem_format("rename %s %s", from, to);

        commands = curl_slist_append(commands, remove);
        commands = curl_slist_append(commands, rename);
        free(remove);
        free(rename);
    }
    free(from);
    free(to);
    return commands;
}

static int send_sftp(struct upload_link *link, const char *name,
                     struct sending *sending, struct error *err)
{
    char *url = mem_format("%s%s", link->target->url, name);
    char *part = mem_format("%s.part", url);
    struct curl_slist *commands = moving(link, part, url);
    CURLcode code = CURLE_URL_MALFORMAT;

    if (commands != NULL) {
        prepare(link, part, sending);
        curl_easy_setopt(link->easy, CURLOPT_SSH_HOST_PUBLIC_KEY_SHA256,
                         link->target->host_key);
        curl_easy_setopt(link->easy, CURLOPT_SSH_AUTH_TYPES,
                         (long)(CURLSSH_AUTH_PASSWORD | CURLSSH_AUTH_KEYBOARD));
        curl_easy_setopt(link->easy, CURLOPT_UPLOAD, 1L);
        curl_easy_setopt(link->easy, CURLOPT_INFILESIZE_LARGE,
                         (curl_off_t)sending->length);
        curl_easy_setopt(link->easy, CURLOPT_NEW_FILE_PERMS, 0644L);
        curl_easy_setopt(link->easy, CURLOPT_POSTQUOTE, commands);
        code = curl_easy_perform(link->easy);
    }
    if (code != CURLE_OK)
        error_set(err, _("%s: %s"), link->host, what_failed(link, code));
    curl_slist_free_all(commands);
    free(part);
    free(url);
    return code == CURLE_OK ? 0 : -1;
}

int upload_send(struct upload_link *link, const char *name, const char *bytes,
                size_t length, struct error *err)
{
    struct sending sending = {bytes, length, 0};
    int code = link->sftp ? send_sftp(link, name, &sending, err)
                          : send_dav(link, name, &sending, err);

    return code == 0 ? 0 : error_prefix(err, _("%s was not sent: "), name);
}
