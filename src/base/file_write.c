#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/file.h"
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

static int flush_folder(const char *path)
{
    char *folder = folder_of(path);
    int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    free(folder);
    if (fd < 0)
        return -1;
    int result = fsync(fd);
    /* Some file systems cannot flush a folder and say so. */
    if (result != 0 && errno == EINVAL)
        result = 0;
    close(fd);
    return result;
}

/* Fills the open temporary file; closes it. 0, or -1 with errno. */
static int fill(int fd, const char *bytes, size_t length, mode_t mode)
{
    int result = 0;
    if (write_all(fd, bytes, length) != 0 || fchmod(fd, mode) != 0 ||
        fsync(fd) != 0)
        result = -1;
    int saved_errno = errno;
    if (close(fd) != 0 && result == 0)
        return -1;
    errno = saved_errno;
    return result;
}

int file_write_whole(const char *path, const char *bytes, size_t length,
                     mode_t mode, struct error *err)
{
    char *temporary = mem_format("%s.new-XXXXXX", path);
    int fd = mkstemp(temporary);
    bool made = fd >= 0;
    int result = -1;
    if (made && fill(fd, bytes, length, mode) == 0 &&
        rename(temporary, path) == 0) {
        made = false;
        result = flush_folder(path);
    }
    if (result != 0)
        error_set(err, _("%s: cannot be written: %s"), path,
                  words_errno(errno));
    if (made)
        unlink(temporary);
    free(temporary);
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

static bool holds(const char *path, const char *bytes, size_t length)
{
    char *old = NULL;
    size_t old_length = 0;
    if (file_read(path, length, &old, &old_length, NULL) != 0)
        return false;
    bool same = old_length == length && memcmp(old, bytes, length) == 0;
    free(old);
    return same;
}

int file_write_changed(const char *path, const char *bytes, size_t length,
                       mode_t mode, bool *changed, struct error *err)
{
    bool same = holds(path, bytes, length);
    if (changed)
        *changed = !same;
    return same ? 0 : file_write_whole(path, bytes, length, mode, err);
}
