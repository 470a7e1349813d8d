#include "base/memory.h"

#include <pthread.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#ifdef __GLIBC__
#include <malloc.h>
#endif

#include <cjson/cJSON.h>

#include "base/words.h"

void mem_fail(void)
{
    fputs(_("thawbell: out of memory\n"), stderr);
    exit(1);
}

static void *alloc_bytes(size_t size)
{
    void *bytes = malloc(size ? size : 1);
    if (!bytes)
        mem_fail();
    return bytes;
}

/* cJSON leaves out what it gets no memory for, without a word: an answer would
 * be taken for garbage, a bulletin be published with members missing. */
__attribute__((constructor)) static void guard_cjson(void)
{
    cJSON_Hooks hooks = {alloc_bytes, free};
    cJSON_InitHooks(&hooks);
}

void mem_spare(size_t size)
{
    /* A compiler may leave out what it sees to be given back unused. */
    char *volatile bytes = alloc_bytes(size);
    free(bytes);
}

void *mem_alloc(size_t count, size_t size)
{
    void *bytes = calloc(count ? count : 1, size ? size : 1);
    if (!bytes)
        mem_fail();
    return bytes;
}

void *mem_resize(void *old, size_t count, size_t size)
{
    if (size && count > SIZE_MAX / size)
        mem_fail();
    size_t wanted = count * size;
    void *bytes = realloc(old, wanted ? wanted : 1);
    if (!bytes)
        mem_fail();
    return bytes;
}

char *mem_copy_text(const char *text)
{
    const char *from = text ? text : "";
    return mem_copy_bytes(from, strlen(from));
}

char *mem_copy_bytes(const char *bytes, size_t size)
{
    if (size == SIZE_MAX)
        mem_fail();
    char *copy = alloc_bytes(size + 1);
    if (size)
        memcpy(copy, bytes, size);
    copy[size] = '\0';
    return copy;
}

char *mem_format(const char *format, ...)
{
    char small[256];
    va_list args;
    va_start(args, format);
    int wanted = vsnprintf(small, sizeof small, format, args);
    va_end(args);
    if (wanted < 0)
        mem_fail();
    if ((size_t)wanted < sizeof small)
        return mem_copy_bytes(small, (size_t)wanted);
    char *text = mem_alloc((size_t)wanted + 1, 1);
    va_start(args, format);
    vsnprintf(text, (size_t)wanted + 1, format, args);
    va_end(args);
    return text;
}

void mem_few_heaps(void)
{
#ifdef __GLIBC__
    mallopt(M_ARENA_MAX, 2);
    /* Fresh pages cost more than what is done in them: the blocks of a turn
     * are used again by the next one. Set, it stays; mem_give_back() gives
     * them back. */
    mallopt(M_MMAP_THRESHOLD, 8 * 1024 * 1024);
    mallopt(M_TRIM_THRESHOLD, 16 * 1024 * 1024);
    /* A turn takes thousands of small blocks and gives them back together, and
     * large ones in between, at each of which the lists of small ones kept
     * aside would be gone through: they join their neighbours at once. */
    mallopt(M_MXFAST, 0);
#endif
}

struct work_apart {
    void (*work)(void *data);
    void *data;
};

static void *do_apart(void *data)
{
    const struct work_apart *apart = data;
    apart->work(apart->data);
    return NULL;
}

/* glibc gives a new thread a heap of its own while there are few. */
void mem_apart(void (*work)(void *data), void *data)
{
    struct work_apart apart = {work, data};
    pthread_t thread;
    if (pthread_create(&thread, NULL, do_apart, &apart) == 0)
        pthread_join(thread, NULL);
    else
        work(data);
}

void mem_give_back(void)
{
#ifdef __GLIBC__
    malloc_trim(0);
#endif
}
