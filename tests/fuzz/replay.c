/* Stands in for libFuzzer where the compiler has none: replays the files of
 * one or more folders as they are, then some of them changed at random.
 *
 *   PROGRAM FOLDER...
 *
 * THAWBELL_TEST_SEED repeats a run, THAWBELL_FUZZ_RUNS sets how many changed
 * inputs there are (300). A failing run ends on the input that fails; the name
 * of the file, or the seed and the input's number, are printed before. */
#include <dirent.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/units.h"
#include "test_seed.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

enum { MAX_FILES = 1000, MAX_BYTES = 4 * 1024 * 1024, MOST_CHANGES = 4 };

struct input {
    char *path; /* owned; NULL for a changed one */
    char *bytes;
    size_t length;
};

static struct input files[MAX_FILES];
static int file_count;

/* xorshift64*, Vigna (2016), ACM Transactions on Mathematical Software 42:30 */
static uint64_t next_random(uint64_t *state)
{
    *state ^= *state >> 12;
    *state ^= *state << 25;
    *state ^= *state >> 27;
    return *state * UINT64_C(2685821657736338717);
}

static size_t below(uint64_t *state, size_t limit)
{
    return limit ? (size_t)(next_random(state) % limit) : 0;
}

static void read_folder(const char *folder)
{
    DIR *dir = opendir(folder);
    struct dirent *entry;

    if (!dir) {
        fprintf(stderr, "%s: cannot be read\n", folder);
        exit(1);
    }
    while ((entry = readdir(dir)) && file_count < MAX_FILES) {
        struct input *input = &files[file_count];

        if (entry->d_name[0] == '.')
            continue;
        input->path = file_join(folder, entry->d_name);
        if (file_read(input->path, MAX_BYTES, &input->bytes, &input->length,
                      NULL) == 0)
            file_count++;
        else
            free(input->path);
    }
    closedir(dir);
}

static int by_path(const void *a, const void *b)
{
    const struct input *left = a, *right = b;

    return strcmp(left->path, right->path);
}

static const char *const pieces[] = {
    "null", "\"\"", "[]", "{}", "-1",   "1e9", "1e308", "0",   "true",  ",",
    ":",    "[",    "}",  "\"", "\\u0", "NaN", "\xff",  "\n",  "PT0S",  "/",
    "P9D",  "Z",    "T",  "-0", "\xc2", "°F",  "-99",   "9e4", "[[[[[", "#",
};

/* Puts `piece` in place of `cut` bytes at `at`. */
static void splice(struct input *input, size_t at, size_t cut,
                   const char *piece, size_t length)
{
    size_t rest = input->length - at - cut;
    char *bytes = mem_alloc(at + length + rest + 1, 1);

    memcpy(bytes, input->bytes, at);
    memcpy(bytes + at, piece, length);
    memcpy(bytes + at + length, input->bytes + at + cut, rest);
    free(input->bytes);
    input->bytes = bytes;
    input->length = at + length + rest;
}

/* The number at or after `at` gets another digit here or there. */
static void change_digit(struct input *input, size_t at, uint64_t *state)
{
    while (at < input->length &&
           (input->bytes[at] < '0' || input->bytes[at] > '9'))
        at++;
    if (at < input->length)
        input->bytes[at] = (char)('0' + below(state, 10));
}

static void change(struct input *input, uint64_t *state)
{
    size_t at = below(state, input->length + 1);
    size_t left = input->length - at;
    const struct input *other = &files[below(state, (size_t)file_count)];
    size_t from = below(state, other->length + 1);
    const char *piece = pieces[below(state, sizeof pieces / sizeof *pieces)];

    switch (below(state, 6)) {
    case 0:
        splice(input, at, left, "", 0);
        break;
    case 1:
        splice(input, at, below(state, left < 20 ? left + 1 : 20), piece,
               strlen(piece));
        break;
    case 2:
        splice(input, at, below(state, left < 200 ? left + 1 : 200), "", 0);
        break;
    case 3:
        splice(input, at, 0, other->bytes + from,
               below(state, other->length - from + 1) % 500);
        break;
    case 4:
        if (left > 0)
            input->bytes[at] = (char)below(state, 256);
        break;
    default:
        change_digit(input, at, state);
    }
}

/* A copy of the exact size, so that a sanitizer sees a byte too far. */
static void run(const struct input *input)
{
    uint8_t *copy = malloc(input->length ? input->length : 1);

    if (!copy)
        exit(1);
    if (input->length)
        memcpy(copy, input->bytes, input->length);
    LLVMFuzzerTestOneInput(copy, input->length);
    free(copy);
}

static void run_changed(const struct input *file, uint64_t *state)
{
    struct input input = {NULL, mem_copy_bytes(file->bytes, file->length),
                          file->length};
    size_t changes = 1 + below(state, MOST_CHANGES);

    for (size_t i = 0; i < changes; i++)
        change(&input, state);
    run(&input);
    free(input.bytes);
}

int main(int argc, char **argv)
{
    const char *given = getenv("THAWBELL_FUZZ_RUNS");
    uint64_t state = test_seed() | 1;
    long runs = 300;

    if (given && !integer_parse(given, 0, 1000000000, &runs))
        return 2;
    for (int i = 1; i < argc; i++)
        read_folder(argv[i]);
    if (file_count == 0) {
        fprintf(stderr, "no file to replay\n");
        return 1;
    }
    qsort(files, (size_t)file_count, sizeof *files, by_path);
    for (int i = 0; i < file_count; i++) {
        printf("%s\n", files[i].path);
        fflush(stdout);
        run(&files[i]);
    }
    for (long i = 0; i < runs; i++) {
        printf("changed input %ld of %ld\n", i, runs);
        fflush(stdout);
        run_changed(&files[below(&state, (size_t)file_count)], &state);
    }
    for (int i = 0; i < file_count; i++) {
        free(files[i].path);
        free(files[i].bytes);
    }
    return 0;
}
