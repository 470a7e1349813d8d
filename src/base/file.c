#include "base/file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/memory.h"
#include "base/words.h"

enum { READ_STEP = 65536 };

/* *size is what the file holds by now; 0 where that is not known. */
static int open_to_read(const char *path, size_t *size, struct error *err)
{
    *size = 0;
    bool is_input = strcmp(path, "-") == 0;
    /* Non-blocking, so that a pipe without a writer does not hold us. */
    int fd = is_input ? fcntl(STDIN_FILENO, F_DUPFD_CLOEXEC, 0)
                      : open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    struct stat status;
    if (fd < 0 || fstat(fd, &status) != 0) {
        error_set(err, _("%s: cannot be read: %s"), path, words_errno(errno));
        if (fd >= 0)
            close(fd);
        return -1;
    }
    if (is_input)
        return fd;
    if (!S_ISREG(status.st_mode)) {
        error_set(err, _("%s: is not a regular file"), path);
        close(fd);
        return -1;
    }
    if (status.st_size > 0)
        *size = (size_t)status.st_size;
    return fd;
}

/* Reads at most max_bytes + 1 bytes; returns what came or -1 (errno). So much
 * is expected: the byte after it tells the end. */
static ssize_t read_all(int fd, size_t expected, size_t max_bytes, char **bytes)
{
    size_t length = 0, size = 0;
    for (;;) {
        if (size == length) {
            size = size ? size * 2 : READ_STEP;
            if (length == 0 && expected > 0 && expected <= max_bytes)
                size = expected + 1;
            *bytes = mem_resize(*bytes, size + 1, 1);
        }
        size_t room = max_bytes - length + 1;
        if (room > size - length)
            room = size - length;
        ssize_t got = read(fd, *bytes + length, room);
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0)
            return -1;
        length += (size_t)got;
        if (got == 0 || length > max_bytes)
            return (ssize_t)length;
    }
}

int file_read(const char *path, size_t max_bytes, char **bytes, size_t *length,
              struct error *err)
{
    *bytes = NULL;
    *length = 0;
    size_t expected;
    int fd = open_to_read(path, &expected, err);
    if (fd < 0)
        return -1;
    char *content = NULL;
    ssize_t got = read_all(fd, expected, max_bytes, &content);
    int saved_errno = errno;
    close(fd);
    if (got < 0 || (size_t)got > max_bytes) {
        free(content);
        if (got < 0)
            return error_set(err, _("%s: cannot be read: %s"), path,
                             words_errno(saved_errno));
        return error_set(err, _("%s: is larger than the %zu bytes allowed"),
                         path, max_bytes);
    }
    content[got] = '\0';
    *bytes = content;
    *length = (size_t)got;
    return 0;
}

bool file_exists(const char *path)
{
    return access(path, F_OK) == 0;
}

bool file_is_folder(const char *path)
{
    struct stat status;
    return stat(path, &status) == 0 && S_ISDIR(status.st_mode);
}

/* Why the folder could not be made (errno). It may be there: whoever may not
 * enter the one that it is in cannot know. */
static int cannot_make(const char *path, struct error *err)
{
    int why = errno;
    const char *slash = strrchr(path, '/');
    char *above = slash ? mem_copy_bytes(path, (size_t)(slash - path)) : NULL;
    bool closed = why == EACCES && above && above[0] != '\0' &&
                  faccessat(AT_FDCWD, above, X_OK, AT_EACCESS) != 0 &&
                  errno == EACCES;
    if (closed)
        error_set(err, _("%s: cannot be used: this user may not enter %s"),
                  path, above);
    else
        error_set(err, _("%s: cannot make the folder: %s"), path,
                  words_errno(why));
    free(above);
    return -1;
}

int file_make_folder(const char *path, mode_t mode, struct error *err)
{
    if (file_is_folder(path))
        return 0;
    char *part = mem_copy_text(path);
    int result = 0;
    for (char *p = part + 1; result == 0 && part[0]; p++) {
        char here = *p;
        if (here != '/' && here != '\0')
            continue;
        *p = '\0';
        if (mkdir(part, mode) != 0 && errno != EEXIST)
            result = cannot_make(part, err);
        *p = here;
        if (here == '\0')
            break;
    }
    if (result == 0 && !file_is_folder(path))
        result = error_set(err, _("%s: is not a folder"), path);
    free(part);
    return result;
}

char *file_join(const char *folder, const char *name)
{
    size_t length = strlen(folder);
    bool has_slash = length > 0 && folder[length - 1] == '/';
    return mem_format(has_slash ? "%s%s" : "%s/%s", folder, name);
}
