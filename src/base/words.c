#include "base/words.h"

#include <pthread.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/catalogue.h"
#include "base/file.h"
#include "base/log.h"

enum { CATALOGUE_MAX_BYTES = 4 * 1024 * 1024 };

static const char english_name[] = "en", french_name[] = "fr";

/* Read once, then only looked at. */
static pthread_once_t once = PTHREAD_ONCE_INIT;
static struct catalogue *french;
static atomic_bool program_is_french;
/* The thread's own; NULL where the program's counts. */
static _Thread_local const char *in_use;

static void read_french(void)
{
    static const char name[] = "fr/LC_MESSAGES/thawbell.mo";
    char *path = file_find_locale(name), *bytes = NULL;
    struct error err = {""};
    size_t length = 0;

    if (path == NULL)
        error_set(&err, "%s: not found", name);
    else if (file_read(path, CATALOGUE_MAX_BYTES, &bytes, &length, &err) == 0 &&
             (french = catalogue_open(bytes, length)) == NULL)
        error_set(&err, "%s: not a catalogue of French words", path);
    if (french == NULL) {
        log_warn("%s; English words are used", err.text);
        free(bytes);
    }
    free(path);
}

static const char *name_of(const char *language)
{
    if (strcmp(language, french_name) != 0)
        return english_name;
    pthread_once(&once, read_french);
    return french_name;
}

void words_program(const char *language)
{
    program_is_french = language != NULL && name_of(language) == french_name;
}

const char *words_use(const char *language)
{
    const char *before = in_use;

    in_use = language != NULL ? name_of(language) : NULL;
    return before;
}

static bool is_french(void)
{
    return in_use != NULL ? in_use == french_name : program_is_french;
}

const char *words_language(void)
{
    return is_french() ? french_name : english_name;
}

const char *words_of_environment(void)
{
    static const char *const names[] = {"LC_ALL", "LC_MESSAGES", "LANG"};

    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        const char *value = getenv(names[i]);

        if (value == NULL || value[0] == '\0')
            continue;
        return strncmp(value, french_name, 2) == 0 &&
                       strchr("_.@", value[2]) != NULL
                   ? french_name
                   : english_name;
    }
    return english_name;
}

const char *words_find(const char *english)
{
    const char *found = NULL;

    /* "" is the catalogue's own header. */
    if (is_french() && french != NULL && english[0] != '\0')
        found = catalogue_find(french, english, 0);
    return found != NULL ? found : english;
}

const char *words_in_place(const char *key, const char *english)
{
    const char *found = NULL;

    if (is_french() && french != NULL)
        found = catalogue_find(french, key, 0);
    return found != NULL ? found : english;
}

/* French takes 0 and 1 as one, English 1 alone. */
const char *words_count(const char *one, const char *several, long count)
{
    const char *found = NULL;

    if (is_french() && french != NULL)
        found = catalogue_find(french, one, count > 1 || count < -1);
    return found != NULL ? found : count == 1 ? one : several;
}

const char *words_errno(int code)
{
    /* Those that people meet; the rest is shown as the C library says it. */
    static const char *const common[]
        __attribute__((unused)) = {N_("No such file or directory"),
                                   N_("Permission denied"),
                                   N_("Operation not permitted"),
                                   N_("File exists"),
                                   N_("Not a directory"),
                                   N_("Is a directory"),
                                   N_("No space left on device"),
                                   N_("Disk quota exceeded"),
                                   N_("Read-only file system"),
                                   N_("File too large"),
                                   N_("File name too long"),
                                   N_("Too many open files"),
                                   N_("Too many levels of symbolic links"),
                                   N_("Input/output error"),
                                   N_("Invalid argument"),
                                   N_("Cannot allocate memory"),
                                   N_("Resource temporarily unavailable"),
                                   N_("Address already in use"),
                                   N_("Cannot assign requested address"),
                                   N_("Connection refused"),
                                   N_("Connection timed out"),
                                   N_("Interrupted system call"),
                                   N_("Broken pipe"),
                                   N_("Device or resource busy"),
                                   N_("Text file busy"),
                                   N_("Success")};

    return words_find(strerror(code));
}
