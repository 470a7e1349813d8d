#include "base/secret.h"

#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/words.h"

void secret_wipe(char *bytes, size_t length)
{
    volatile char *p = bytes;

    while (length-- > 0)
        *p++ = '\0';
}

void secret_free(char *secret)
{
    if (secret != NULL)
        secret_wipe(secret, strlen(secret));
    free(secret);
}

/* The credential of the file's name, or NULL if there is none. */
static char *credential_path(const char *path)
{
    const char *folder = getenv("CREDENTIALS_DIRECTORY");
    const char *slash = strrchr(path, '/');
    char *found;

    if (folder == NULL || folder[0] == '\0')
        return NULL;
    found = file_join(folder, slash != NULL ? slash + 1 : path);
    if (file_exists(found))
        return found;
    free(found);
    return NULL;
}

/* The mode of a credential tells nothing: the service manager may grant the
 * access by an access control list, which shows in the group's bits. */
static int guard_check(int fd, const char *path, bool credential,
                       struct error *err)
{
    struct stat status;

    if (fstat(fd, &status) != 0)
        return error_set(err, _("%s: cannot be read: %s"), path,
                         words_errno(errno));
    if (!S_ISREG(status.st_mode))
        return error_set(err, _("%s: is not a regular file"), path);
    if (credential)
        return 0;
    if ((status.st_mode & (S_IRWXG | S_IRWXO)) != 0)
        return error_set(err,
                         _("%s: others may read it, and so it is refused; "
                           "chmod 600 %s"),
                         path, path);
    if (status.st_uid != geteuid() && status.st_uid != 0)
        return error_set(err,
                         _("%s: belongs to another user, and so it is "
                           "refused"),
                         path);
    return 0;
}

size_t secret_line_length(const char *bytes, size_t length)
{
    if (length > 0 && bytes[length - 1] == '\n')
        length--;
    if (length > 0 && bytes[length - 1] == '\r')
        length--;
    for (size_t i = 0; i < length; i++)
        if ((unsigned char)bytes[i] < 0x20 || bytes[i] == 0x7f)
            return 0;
    return length;
}

static int line_read(int fd, const char *path, char **out, struct error *err)
{
    char bytes[SECRET_MAX_BYTES + 3];
    size_t length = 0, line;
    ssize_t got;

    while ((got = read(fd, bytes + length, sizeof bytes - length)) > 0)
        length += (size_t)got;
    line = got < 0 ? 0 : secret_line_length(bytes, length);
    if (got < 0)
        error_set(err, _("%s: cannot be read: %s"), path, words_errno(errno));
    else if (line == 0 || line > SECRET_MAX_BYTES)
        error_set(err,
                  _("%s: holds no secret: one line of at most %d bytes is "
                    "expected, without control characters"),
                  path, (int)SECRET_MAX_BYTES);
    else
        *out = mem_copy_bytes(bytes, line);
    secret_wipe(bytes, sizeof bytes);
    return *out != NULL ? 0 : -1;
}

int secret_read(const char *path, char **out, struct error *err)
{
    char *credential = credential_path(path);
    const char *used = credential != NULL ? credential : path;
    int fd = open(used, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    int result = -1;

    *out = NULL;
    if (fd < 0)
        error_set(err, _("%s: cannot be read: %s"), used, words_errno(errno));
    else if (guard_check(fd, used, credential != NULL, err) == 0)
        result = line_read(fd, used, out, err);
    if (fd >= 0)
        close(fd);
    free(credential);
    return result;
}
