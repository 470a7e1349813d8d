#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/file.h"
#include "base/file_part.h"
#include "base/memory.h"
#include "base/words.h"

static int write_all(int fd, const char *bytes, size_t length)
{
    while (length > 0) {
        ssize_t done = write(fd, bytes, length);
        if (done < 0 && errno == EINTR)
            continue;
        if (done < 0)
            return -1;
        bytes += done;
        length -= (size_t)done;
    }
    return 0;
}

static char *folder_of(const char *path)
{
    const char *slash = strrchr(path, '/');
    if (!slash)
        return mem_copy_text(".");
    return mem_copy_bytes(path, slash == path ? 1 : (size_t)(slash - path));
}

int file_flush_open_folder(int fd)
{
    int result = fsync(fd);
    /* Some file systems cannot flush a folder and say so. */
    return result != 0 && errno == EINVAL ? 0 : result;
}

static int flush_folder(const char *folder)
{
    int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (fd < 0)
        return -1;
    int result = file_flush_open_folder(fd);
    int saved_errno = errno;
    close(fd);
    errno = saved_errno;
    return result;
}

static int flush_folder_of(const char *path)
{
    char *folder = folder_of(path);
    int result = flush_folder(folder);
    int saved_errno = errno;
    free(folder);
    errno = saved_errno;
    return result;
}

int file_part_make(const char *path, const char *bytes, size_t length,
                   mode_t mode, char **part)
{
    *part = mem_format("%s.new-XXXXXX", path);
    int fd = mkstemp(*part);
    /* mkstemp has made it 0600. */
    if (fd >= 0 && write_all(fd, bytes, length) == 0 &&
        (mode == 0600 || fchmod(fd, mode) == 0))
        return fd;
    int saved_errno = errno;
    if (fd >= 0) {
        close(fd);
        unlink(*part);
    }
    free(*part);
    *part = NULL;
    errno = saved_errno;
    return -1;
}

/* Flushes and closes; 0, or -1 with errno. */
static int finish(int fd, bool flush)
{
    int result = flush ? fsync(fd) : 0;
    int saved_errno = errno;
    if (close(fd) != 0 && result == 0)
        return -1;
    errno = saved_errno;
    return result;
}

static int put(const char *path, const char *bytes, size_t length, mode_t mode,
               bool flush, struct error *err)
{
    char *part;
    int fd = file_part_make(path, bytes, length, mode, &part);
    bool made = fd >= 0;
    int result = -1;
    if (made && finish(fd, flush) == 0 && rename(part, path) == 0) {
        made = false;
        result = flush ? flush_folder_of(path) : 0;
    }
    if (result != 0)
        error_set(err, _("%s: cannot be written: %s"), path,
                  words_errno(errno));
    if (made)
        unlink(part);
    free(part);
    return result;
}

int file_write_whole(const char *path, const char *bytes, size_t length,
                     mode_t mode, struct error *err)
{
    return put(path, bytes, length, mode, true, err);
}

int file_write_loose(const char *path, const char *bytes, size_t length,
                     mode_t mode, struct error *err)
{
    return put(path, bytes, length, mode, false, err);
}

/* link() does not take the place of a file that has come meanwhile. */
int file_put_in_place(const char *part, const char *path, struct error *err)
{
    int result = link(part, path);
    if (result == 0 && flush_folder_of(path) != 0) {
        result = -1;
        int saved_errno = errno;
        unlink(path);
        errno = saved_errno;
    }
    if (result != 0)
        error_set(err, _("%s: cannot be made: %s"), path, words_errno(errno));
    unlink(part);
    return result;
}

static bool left_over(const char *name)
{
    const char *mark = strstr(name, ".new-");
    return mark && strlen(mark) == strlen(".new-XXXXXX");
}

void file_sweep(const char *folder)
{
    DIR *entries = opendir(folder);
    const struct dirent *entry;
    if (!entries)
        return;
    while ((entry = readdir(entries)) != NULL)
        if (left_over(entry->d_name))
            unlinkat(dirfd(entries), entry->d_name, 0);
    closedir(entries);
}

bool file_holds(const char *path, const char *bytes, size_t length)
{
    char *old = NULL;
    size_t old_length = 0;
    struct stat status;
    if (stat(path, &status) != 0 || status.st_size < 0 ||
        (size_t)status.st_size != length ||
        file_read(path, length, &old, &old_length, NULL) != 0)
        return false;
    bool same = old_length == length && memcmp(old, bytes, length) == 0;
    free(old);
    return same;
}

int file_write_changed(const char *path, const char *bytes, size_t length,
                       mode_t mode, bool *changed, struct error *err)
{
    bool same = file_holds(path, bytes, length);
    if (changed)
        *changed = !same;
    return same ? 0 : put(path, bytes, length, mode, true, err);
}
