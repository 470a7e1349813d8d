/* RTLD_NEXT; and each function by its own name, not by that of its 64-bit
 * brother. */
#define _GNU_SOURCE
#undef _FILE_OFFSET_BITS
#include "scarce.h"

#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <link.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/types.h>
#include <unistd.h>

#if defined(__SANITIZE_ADDRESS__)
#define REAL(name) __interceptor_##name
#else
#define REAL(name) __libc_##name
#endif

void *REAL(malloc)(size_t size);
void *REAL(calloc)(size_t count, size_t size);
void *REAL(realloc)(void *old, size_t size);

enum scarce_kind { NOTHING, MEMORY, DISK };

static enum scarce_kind kind;
static enum scarce_fault fault;
static long count, fails_at;
static bool fails_after;

static bool fails(enum scarce_kind asked)
{
    if (kind != asked)
        return false;
    count++;
    return fails_at > 0 &&
           (count == fails_at || (fails_after && count > fails_at));
}

void scarce_memory(long nth, bool all)
{
    count = 0;
    fails_at = nth;
    fails_after = all;
    kind = MEMORY;
}

void scarce_disk(long nth, bool all, enum scarce_fault how)
{
    scarce_memory(nth, all);
    fault = how;
    kind = DISK;
}

long scarce_stop(void)
{
    kind = NOTHING;
    return count;
}

const char *scarce_fault_word(enum scarce_fault how)
{
    static const char *const words[SCARCE_FAULTS] = {"ENOSPC", "EIO", "EINTR",
                                                     "short write"};

    return words[how];
}

static void *no_memory(void)
{
    errno = ENOMEM;
    return NULL;
}

/* Libraries that write to NULL or lose what they have when they get no memory.
 * They always get some here; those who call them see to it that there is some
 * beforehand (mem_spare). */
static const char *const spared[] = {
    "/libical.so",  "/libicu",    "/libfontconfig.so", "/libexpat.so",
    "/libcairo.so", "/libpixman", "/libfreetype.so"};
enum { SPARED = sizeof spared / sizeof *spared, MOST_PARTS = 16 };

static struct {
    uintptr_t from, to;
} parts[MOST_PARTS];
static int part_count;

static bool is_spared(const char *name)
{
    for (int i = 0; i < SPARED; i++)
        if (strstr(name, spared[i]) != NULL)
            return true;
    return false;
}

static int find_spared(struct dl_phdr_info *object, size_t size, void *self)
{
    (void)size;
    (void)self;
    if (!is_spared(object->dlpi_name))
        return 0;
    for (int i = 0; i < object->dlpi_phnum; i++) {
        const ElfW(Phdr) *part = &object->dlpi_phdr[i];
        uintptr_t from = object->dlpi_addr + part->p_vaddr;

        if (part->p_type != PT_LOAD || (part->p_flags & PF_X) == 0 ||
            part_count == MOST_PARTS)
            continue;
        parts[part_count].from = from;
        parts[part_count++].to = from + part->p_memsz;
    }
    return 0;
}

__attribute__((constructor)) static void begin(void)
{
    dl_iterate_phdr(find_spared, NULL);
}

static bool fails_for(const void *caller)
{
    uintptr_t at = (uintptr_t)caller;

    if (kind != MEMORY)
        return false;
    for (int i = 0; i < part_count; i++)
        if (at >= parts[i].from && at < parts[i].to)
            return false;
    return fails(MEMORY);
}

void *malloc(size_t size)
{
    return fails_for(__builtin_return_address(0)) ? no_memory()
                                                  : REAL(malloc)(size);
}

void *calloc(size_t number, size_t size)
{
    return fails_for(__builtin_return_address(0)) ? no_memory()
                                                  : REAL(calloc)(number, size);
}

void *realloc(void *old, size_t size)
{
    return fails_for(__builtin_return_address(0)) ? no_memory()
                                                  : REAL(realloc)(old, size);
}

static char *copy_text(const char *text, size_t length, const void *caller)
{
    char *copy = fails_for(caller) ? no_memory() : REAL(malloc)(length + 1);

    if (copy != NULL) {
        memcpy(copy, text, length);
        copy[length] = '\0';
    }
    return copy;
}

/* The C library's would call malloc for whoever called them. */
char *strdup(const char *text)
{
    return copy_text(text, strlen(text), __builtin_return_address(0));
}

char *strndup(const char *text, size_t most)
{
    return copy_text(text, strnlen(text, most), __builtin_return_address(0));
}

/* The next function of that name: the C library's, or a sanitizer's. */
static void next(const char *name, void *out)
{
    enum scarce_kind before = kind;
    void *found;

    kind = NOTHING;
    found = dlsym(RTLD_NEXT, name);
    kind = before;
    if (found == NULL)
        abort();
    *(void **)out = found;
}

/* errno of a call that fails and cannot be interrupted. */
static int refuse(void)
{
    errno = fault == SCARCE_ENOSPC || fault == SCARCE_SHORT ? ENOSPC : EIO;
    return -1;
}

/* Bytes that are written all the same, or -1 for none and errno. */
static ssize_t cut_write(size_t size)
{
    if (fault == SCARCE_SHORT && size > 1) {
        /* The rest meets a full disk. */
        fails_after = true;
        return (ssize_t)(size / 2);
    }
    refuse();
    if (fault == SCARCE_EINTR)
        errno = EINTR;
    return -1;
}

ssize_t write(int fd, const void *bytes, size_t size)
{
    static ssize_t (*real)(int, const void *, size_t);

    if (real == NULL)
        next("write", &real);
    /* What is said is heard: standard output and error do not fail. */
    if (fd > 2 && fails(DISK)) {
        ssize_t cut = cut_write(size);

        return cut < 0 ? -1 : real(fd, bytes, (size_t)cut);
    }
    return real(fd, bytes, size);
}

static ssize_t write_at(const char *name, int fd, const void *bytes,
                        size_t size, off_t at)
{
    ssize_t (*real)(int, const void *, size_t, off_t);
    ssize_t cut;

    next(name, &real);
    if (!fails(DISK))
        return real(fd, bytes, size, at);
    cut = cut_write(size);
    return cut < 0 ? -1 : real(fd, bytes, (size_t)cut, at);
}

ssize_t pwrite(int fd, const void *bytes, size_t size, off_t at)
{
    return write_at("pwrite", fd, bytes, size, at);
}

ssize_t pwrite64(int fd, const void *bytes, size_t size, off64_t at)
{
    return write_at("pwrite64", fd, bytes, size, at);
}

static int open_by(const char *name, const char *path, int flags, mode_t mode)
{
    int (*real)(const char *, int, ...);

    next(name, &real);
    if ((flags & (O_WRONLY | O_RDWR)) != 0 && fails(DISK))
        return refuse();
    return real(path, flags, mode);
}

#define MODE_OF(flags, mode)                                                   \
    do {                                                                       \
        va_list args;                                                          \
        va_start(args, flags);                                                 \
        mode =                                                                 \
            (flags & (O_CREAT | O_TMPFILE)) != 0 ? va_arg(args, mode_t) : 0;   \
        va_end(args);                                                          \
    } while (0)

int open(const char *path, int flags, ...)
{
    mode_t mode;

    MODE_OF(flags, mode);
    return open_by("open", path, flags, mode);
}

int open64(const char *path, int flags, ...)
{
    mode_t mode;

    MODE_OF(flags, mode);
    return open_by("open64", path, flags, mode);
}

static int make_temporary(const char *name, char *path)
{
    int (*real)(char *);

    next(name, &real);
    return fails(DISK) ? refuse() : real(path);
}

int mkstemp(char *path)
{
    return make_temporary("mkstemp", path);
}

int mkstemp64(char *path)
{
    return make_temporary("mkstemp64", path);
}

/* Closed in any case, as Linux does it. */
int close(int fd)
{
    static int (*real)(int);
    int result;

    if (real == NULL)
        next("close", &real);
    result = real(fd);
    return fd > 2 && fails(DISK) ? refuse() : result;
}

#define BY_FD(name)                                                            \
    int name(int fd)                                                           \
    {                                                                          \
        int (*real)(int);                                                      \
        next(#name, &real);                                                    \
        return fails(DISK) ? refuse() : real(fd);                              \
    }
BY_FD(fsync)
BY_FD(fdatasync)
BY_FD(syncfs)

#define BY_FD_AND(name, type)                                                  \
    int name(int fd, type value)                                               \
    {                                                                          \
        int (*real)(int, type);                                                \
        next(#name, &real);                                                    \
        return fails(DISK) ? refuse() : real(fd, value);                       \
    }
BY_FD_AND(ftruncate, off_t)
BY_FD_AND(ftruncate64, off64_t)
BY_FD_AND(fchmod, mode_t)

/* These give what went wrong; errno stays. */
#define ROOM_BY_FD(name, type)                                                 \
    int name(int fd, type from, type size)                                     \
    {                                                                          \
        int (*real)(int, type, type);                                          \
        next(#name, &real);                                                    \
        if (!fails(DISK))                                                      \
            return real(fd, from, size);                                       \
        refuse();                                                              \
        return errno;                                                          \
    }
ROOM_BY_FD(posix_fallocate, off_t)
ROOM_BY_FD(posix_fallocate64, off64_t)

#define FROM_TO(name)                                                          \
    int name(const char *from, const char *to)                                 \
    {                                                                          \
        int (*real)(const char *, const char *);                               \
        next(#name, &real);                                                    \
        return fails(DISK) ? refuse() : real(from, to);                        \
    }
FROM_TO(rename)
FROM_TO(link)

int renameat2(int from_folder, const char *from, int to_folder, const char *to,
              unsigned how)
{
    int (*real)(int, const char *, int, const char *, unsigned);

    next("renameat2", &real);
    return fails(DISK) ? refuse() : real(from_folder, from, to_folder, to, how);
}

int utimensat(int folder, const char *path, const struct timespec times[2],
              int flags)
{
    int (*real)(int, const char *, const struct timespec *, int);

    next("utimensat", &real);
    return fails(DISK) ? refuse() : real(folder, path, times, flags);
}

int mkdir(const char *path, mode_t mode)
{
    int (*real)(const char *, mode_t);

    next("mkdir", &real);
    return fails(DISK) ? refuse() : real(path, mode);
}

int unlink(const char *path)
{
    int (*real)(const char *);

    next("unlink", &real);
    return fails(DISK) ? refuse() : real(path);
}

int unlinkat(int folder, const char *path, int flags)
{
    int (*real)(int, const char *, int);

    next("unlinkat", &real);
    return fails(DISK) ? refuse() : real(folder, path, flags);
}
