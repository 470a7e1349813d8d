#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "base/file.h"
#include "base/file_spare.h"
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

static int flush_folder(const char *folder)
{
    int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (fd < 0)
        return -1;
    int result = fsync(fd);
    /* Some file systems cannot flush a folder and say so. */
    if (result != 0 && errno == EINVAL)
        result = 0;
    close(fd);
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

/* What is flushed to disk. */
enum care { NOTHING, THE_FILE, FILE_AND_FOLDER };

/* Fills the open temporary file; closes it. 0, or -1 with errno. */
static int fill(int fd, const char *bytes, size_t length, mode_t mode,
                enum care care)
{
    int result = 0;
    /* mkstemp has made it 0600. */
    if (write_all(fd, bytes, length) != 0 ||
        (mode != 0600 && fchmod(fd, mode) != 0) ||
        (care != NOTHING && fsync(fd) != 0))
        result = -1;
    int saved_errno = errno;
    if (close(fd) != 0 && result == 0)
        return -1;
    errno = saved_errno;
    return result;
}

static int move(const char *from, const char *path, bool spare)
{
    return spare ? file_spare_rename(from, path, time(NULL))
                 : rename(from, path);
}

static int put(const char *path, const char *bytes, size_t length, mode_t mode,
               enum care care, struct error *err)
{
    bool spare = care == THE_FILE;
    if (spare && file_spare_put(path, bytes, length, mode, time(NULL)))
        return 0;
    char *temporary = mem_format("%s.new-XXXXXX", path);
    int fd = mkstemp(temporary);
    bool made = fd >= 0;
    int result = -1;
    if (made && fill(fd, bytes, length, mode, care) == 0 &&
        move(temporary, path, spare) == 0) {
        made = false;
        result = care == FILE_AND_FOLDER ? flush_folder_of(path) : 0;
    }
    if (result != 0)
        error_set(err, _("%s: cannot be written: %s"), path,
                  words_errno(errno));
    if (made)
        unlink(temporary);
    free(temporary);
    return result;
}

int file_write_whole(const char *path, const char *bytes, size_t length,
                     mode_t mode, struct error *err)
{
    return put(path, bytes, length, mode, FILE_AND_FOLDER, err);
}

int file_write_loose(const char *path, const char *bytes, size_t length,
                     mode_t mode, struct error *err)
{
    return put(path, bytes, length, mode, NOTHING, err);
}

int file_flush_folder(const char *folder, struct error *err)
{
    if (flush_folder(folder) == 0)
        return 0;
    return error_set(err, _("%s: cannot be written: %s"), folder,
                     words_errno(errno));
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

static bool holds(const char *path, const char *bytes, size_t length)
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

static int put_changed(const char *path, const char *bytes, size_t length,
                       mode_t mode, enum care care, bool *changed,
                       struct error *err)
{
    bool same = holds(path, bytes, length);
    if (changed)
        *changed = !same;
    return same ? 0 : put(path, bytes, length, mode, care, err);
}

int file_write_changed(const char *path, const char *bytes, size_t length,
                       mode_t mode, bool *changed, struct error *err)
{
    return put_changed(path, bytes, length, mode, FILE_AND_FOLDER, changed,
                       err);
}

int file_write_one_of(const char *path, const char *bytes, size_t length,
                      mode_t mode, bool *changed, struct error *err)
{
    return put_changed(path, bytes, length, mode, THE_FILE, changed, err);
}
