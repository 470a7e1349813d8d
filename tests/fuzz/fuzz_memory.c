/* Any bytes as what the daemon keeps for itself: what the mail has told, a
 * feed's token, a password, the installation's seed. What cannot be read is
 * refused with a sentence that does not show it, or made anew. */
#include "promise.h"

#include <sys/stat.h>

#include "base/memory.h"
#include "base/secret.h"
#include "daemon/post_decide.h"
#include "daemon/serve.h"
#include "net/pace.h"

/* What is remembered is remembered again as the same. */
static void check_again(const struct post_memory *memory)
{
    struct post_memory *back = mem_alloc(1, sizeof *back);
    char *words = post_memory_to_json(memory), *again;
    struct error err = {""};

    PROMISE(post_memory_from_json(words, back, &err) == 0);
    again = post_memory_to_json(back);
    if (strcmp(words, again) != 0) {
        fprintf(stderr, "%s\n%s\n", words, again);
        abort();
    }
    free(words);
    free(again);
    free(back);
}

static void check_told(const char *words)
{
    struct post_memory *memory = mem_alloc(1, sizeof *memory);
    struct error err = {""};

    promise_result(post_memory_from_json(words, memory, &err), &err);
    PROMISE(memory->told_count >= 0 && memory->told_count <= MAIL_MAX_TOLD);
    for (int i = 0; i < memory->told_count; i++) {
        PROMISE(civil_date_valid(memory->told[i].date));
        PROMISE(memory->told[i].kind < ACTION_KIND_COUNT);
    }
    PROMISE(memory->morning.year == 0 || civil_date_valid(memory->morning));
    check_again(memory);
    free(memory);
}

/* Long enough to be no word of the sentence itself. */
static void check_unsaid(const char *sentence, const char *words)
{
    PROMISE(strlen(words) < 8 || strpbrk(words, " %/") != NULL ||
            strstr(sentence, words) == NULL);
}

static void check_secret(const char *path, const char *words)
{
    struct error err = {""};
    char *secret = NULL;
    int result = secret_read(path, &secret, &err);

    promise_result(result, &err);
    PROMISE((result == 0) == (secret != NULL));
    if (result != 0) {
        check_unsaid(err.text, words);
        return;
    }
    PROMISE(*secret && strlen(secret) <= SECRET_MAX_BYTES);
    for (const char *p = secret; *p; p++)
        PROMISE((unsigned char)*p >= 0x20 && *p != 0x7f);
    secret_free(secret);
}

static void check_token(const char *path, const char *words)
{
    static const char plain[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
                                "abcdefghijklmnopqrstuvwxyz0123456789-_";
    char token[SERVE_TOKEN_SIZE] = "";
    struct error err = {""};
    int result = serve_token_read(path, token, &err);

    promise_result(result, &err);
    if (result != 0) {
        check_unsaid(err.text, words);
        return;
    }
    PROMISE(strlen(token) >= 22 && strlen(token) < SERVE_TOKEN_SIZE);
    PROMISE(strspn(token, plain) == strlen(token));
}

static void check_seed(void)
{
    char first[PACE_SEED_SIZE] = "", second[PACE_SEED_SIZE] = "";
    struct error err = {""};

    PROMISE(pace_seed_load(input_folder(), first, &err) == 0);
    PROMISE(strlen(first) == PACE_SEED_SIZE - 1);
    PROMISE(strspn(first, "0123456789abcdef") == PACE_SEED_SIZE - 1);
    PROMISE(pace_seed_load(input_folder(), second, &err) == 0);
    PROMISE(strcmp(first, second) == 0);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char *words = input_text(data, size);
    const char *path;

    check_told(words);
    path = input_file("secret", data, size);
    PROMISE(chmod(path, 0600) == 0);
    check_secret(path, words);
    check_token(path, words);
    input_file("seed", data, size);
    check_seed();
    free(words);
    return 0;
}
