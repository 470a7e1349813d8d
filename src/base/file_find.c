#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/words.h"

/* The folder ../share/NAME seen from the program's own, or NULL. */
static char *beside_program(const char *name)
{
    char program[4096];
    ssize_t length = readlink("/proc/self/exe", program, sizeof program - 1);
    if (length <= 0)
        return NULL;
    program[length] = '\0';
    char *slash = strrchr(program, '/');
    if (!slash)
        return NULL;
    *slash = '\0';
    return mem_format("%s/../share/%s", program, name);
}

static char *find_in(const char *folder, const char *name)
{
    if (!folder || !*folder)
        return NULL;
    char *path = file_join(folder, name);
    if (file_exists(path))
        return path;
    free(path);
    return NULL;
}

char *file_find_data(const char *name, struct error *err)
{
    char *beside = beside_program("thawbell");
    const char *const folders[] = {getenv("THAWBELL_DATA"), beside,
                                   THAWBELL_DATA_DIR, THAWBELL_SOURCE_DIR};
    char *found = NULL;
    for (size_t i = 0; !found && i < sizeof folders / sizeof *folders; i++)
        found = find_in(folders[i], name);
    free(beside);
    if (!found)
        error_set(err,
                  _("%s: not found; set THAWBELL_DATA to the folder that "
                    "holds models and fixtures"),
                  name);
    return found;
}

char *file_find_locale(const char *name)
{
    char *beside = beside_program("locale");
    char *found = find_in(beside, name);

    free(beside);
    return found != NULL ? found : find_in(THAWBELL_LOCALE_DIR, name);
}

const char *program_version(void)
{
    return THAWBELL_VERSION;
}
