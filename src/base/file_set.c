#define _GNU_SOURCE /* syncfs */
#include "base/file_set.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "base/file.h"
#include "base/file_part.h"
#include "base/file_spare.h"
#include "base/memory.h"
#include "base/words.h"

struct member {
    char *name, *path;
    char *part; /* what is written and not yet in place, or NULL */
    int fd;     /* of the part, to be flushed by; -1: none */
    int code;
    int why; /* errno, where it could not be written beside; 0: it could */
    struct error err;
};

struct file_set {
    char *folder;
    int fd; /* of the folder */
    enum file_set_flush flush;
    struct member *members;
    int count, in_place;
};

static int cannot_write(const char *path, struct error *err)
{
    return error_set(err, _("%s: cannot be written: %s"), path,
                     words_errno(errno));
}

/* The folder is opened before anything is written: syncfs tells of what could
 * not be written since then. */
struct file_set *file_set_begin(const char *folder, enum file_set_flush flush,
                                struct error *err)
{
    int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    struct file_set *set;

    if (fd < 0) {
        cannot_write(folder, err);
        return NULL;
    }
    set = mem_alloc(1, sizeof *set);
    set->folder = mem_copy_text(folder);
    set->fd = fd;
    set->flush = flush;
    return set;
}

static int close_part(struct member *member)
{
    int fd = member->fd;

    member->fd = -1;
    return fd >= 0 ? close(fd) : 0;
}

static void drop_part(struct member *member)
{
    close_part(member);
    if (member->part != NULL)
        unlink(member->part);
    free(member->part);
    member->part = NULL;
}

static void fail(struct member *member, const char *path)
{
    member->code = cannot_write(path, &member->err);
    drop_part(member);
}

void file_set_put(struct file_set *set, const char *name, const char *bytes,
                  size_t length, mode_t mode)
{
    struct member *member;

    set->members =
        mem_resize(set->members, (size_t)set->count + 1, sizeof *set->members);
    member = &set->members[set->count++];
    *member = (struct member){.name = mem_copy_text(name),
                              .path = file_join(set->folder, name),
                              .fd = -1};
    if (file_holds(member->path, bytes, length))
        return;
    member->fd = file_spare_fill(member->path, bytes, length, mode, time(NULL),
                                 &member->part);
    if (member->fd < 0)
        member->fd =
            file_part_make(member->path, bytes, length, mode, &member->part);
    if (member->fd < 0 ||
        (set->flush == FILE_SET_FILE_SYSTEM && close_part(member) != 0)) {
        member->why = errno;
        fail(member, member->path);
    }
}

static int flush(struct file_set *set)
{
    if (set->flush == FILE_SET_FILE_SYSTEM)
        return syncfs(set->fd);
    for (int i = 0; i < set->count; i++) {
        struct member *member = &set->members[i];

        if (member->fd >= 0 &&
            (fsync(member->fd) != 0 || close_part(member) != 0))
            return -1;
    }
    return 0;
}

static bool any_written(const struct file_set *set)
{
    for (int i = 0; i < set->count; i++)
        if (set->members[i].part != NULL)
            return true;
    return false;
}

static int give_up(struct file_set *set, struct error *err)
{
    int saved_errno = errno;

    for (int i = 0; i < set->count; i++) {
        errno = saved_errno;
        if (set->members[i].part != NULL)
            fail(&set->members[i], set->folder);
    }
    errno = saved_errno;
    return cannot_write(set->folder, err);
}

/* What keeps back several of them; 0: nothing does. */
static int shared_reason(const struct file_set *set)
{
    for (int i = 0; i < set->count; i++)
        for (int k = 0; k < i; k++)
            if (set->members[i].why != 0 &&
                set->members[i].why == set->members[k].why)
                return set->members[i].why;
    return 0;
}

/* One sentence for all of them. */
static int tell_shared(struct file_set *set, int why, struct error *err)
{
    for (int i = 0; i < set->count; i++) {
        errno = why;
        if (set->members[i].why == why)
            cannot_write(set->folder, &set->members[i].err);
    }
    errno = why;
    return cannot_write(set->folder, err);
}

static void put_in_place(struct file_set *set)
{
    time_t now = time(NULL);

    for (int i = 0; i < set->count; i++) {
        struct member *member = &set->members[i];

        if (member->part == NULL)
            continue;
        if (file_spare_rename(member->part, member->path, now) != 0) {
            fail(member, member->path);
            continue;
        }
        free(member->part);
        member->part = NULL;
        set->in_place++;
    }
}

/* Where the whole file system was flushed, the names need not be: what a power
 * cut then shows is the old files, whole, and the turn at the start makes the
 * new ones again. For that an old one must not be written into before the new
 * one has its name on disk. It rests for minutes (base/file_spare.c), and the
 * kernel writes names within half a minute, sooner where more is published. */
static int settle_written(struct file_set *set, struct error *err)
{
    if (!any_written(set))
        return 0;
    if (flush(set) != 0)
        return give_up(set, err);
    put_in_place(set);
    if (set->flush == FILE_SET_EACH && set->in_place > 0 &&
        file_flush_open_folder(set->fd) != 0)
        return cannot_write(set->folder, err);
    return 0;
}

int file_set_settle(struct file_set *set, struct error *err)
{
    int why = shared_reason(set);
    int code = settle_written(set, err);

    return code == 0 && why != 0 ? tell_shared(set, why, err) : code;
}

int file_set_look(const struct file_set *set, const char *name,
                  struct error *err)
{
    for (int i = 0; i < set->count; i++)
        if (set->members[i].code != 0 &&
            strcmp(set->members[i].name, name) == 0)
            return error_set(err, "%s", set->members[i].err.text);
    return 0;
}

int file_set_count(const struct file_set *set)
{
    return set->in_place;
}

void file_set_free(struct file_set *set)
{
    if (set == NULL)
        return;
    for (int i = 0; i < set->count; i++) {
        drop_part(&set->members[i]);
        free(set->members[i].name);
        free(set->members[i].path);
    }
    free(set->members);
    free(set->folder);
    close(set->fd);
    free(set);
}
