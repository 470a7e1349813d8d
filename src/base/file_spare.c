/* The file published before, kept beside the published one as ".NAME.old" and
 * written into the next time: a file made and one taken away at each change
 * cost a system more than all that is written. */
#define _GNU_SOURCE /* renameat2 */
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/file_spare.h"
#include "base/memory.h"

/* Who opened it while it was the published one has read it by then. */
enum { REST_S = 600 };

static char *spare_path(const char *path)
{
    const char *slash = strrchr(path, '/');
    int folder = slash ? (int)(slash - path) + 1 : 0;
    return mem_format("%.*s.%s.old", folder, path, path + folder);
}

/* Not with a folder that lies in the way, nor with a link. */
static bool exchange(const char *new, const char *path)
{
    struct stat status;
    return lstat(path, &status) == 0 && S_ISREG(status.st_mode) &&
           renameat2(AT_FDCWD, new, AT_FDCWD, path, RENAME_EXCHANGE) == 0;
}

/* Our own, that nobody else has under another name. */
static bool is_at_rest(const struct stat *status, time_t now)
{
    return S_ISREG(status->st_mode) && status->st_nlink == 1 &&
           status->st_uid == geteuid() && status->st_mtime <= now - REST_S;
}

static bool fill(int fd, const char *bytes, size_t length, mode_t mode,
                 time_t now)
{
    struct stat status;
    return fstat(fd, &status) == 0 && is_at_rest(&status, now) &&
           pwrite(fd, bytes, length, 0) == (ssize_t)length &&
           (status.st_size <= (off_t)length ||
            ftruncate(fd, (off_t)length) == 0) &&
           ((status.st_mode & 07777) == mode || fchmod(fd, mode) == 0);
}

/* When it was put aside, by the clock that it will be looked at with; the file
 * system's may be another machine's. */
static void put_aside(const char *spare, time_t now)
{
    const struct timespec at[] = {{.tv_sec = now}, {.tv_sec = now}};
    if (utimensat(AT_FDCWD, spare, at, AT_SYMLINK_NOFOLLOW) != 0)
        unlink(spare);
}

int file_spare_fill(const char *path, const char *bytes, size_t length,
                    mode_t mode, time_t now, char **spare)
{
    char *name = spare_path(path);
    int fd = open(name, O_WRONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK);
    *spare = NULL;
    if (fd >= 0 && !fill(fd, bytes, length, mode, now)) {
        close(fd);
        fd = -1;
    }
    if (fd >= 0)
        *spare = name;
    else
        free(name);
    return fd;
}

int file_spare_rename(const char *from, const char *path, time_t now)
{
    char *spare;
    if (!exchange(from, path))
        return rename(from, path);
    spare = spare_path(path);
    if (strcmp(from, spare) != 0 && rename(from, spare) != 0)
        unlink(from);
    else
        put_aside(spare, now);
    free(spare);
    return 0;
}
