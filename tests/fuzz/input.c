/* Files for harnesses whose readers take a path. */
#include "promise.h"

#include <dirent.h>

static char folder[200], path[300];

/* Also on the way out after a finding: ends with the process alone. */
static void clean_up(void)
{
    DIR *dir = opendir(folder);
    struct dirent *entry;

    if (dir == NULL)
        return;
    while ((entry = readdir(dir)) != NULL) {
        char at[600];

        snprintf(at, sizeof at, "%s/%s", folder, entry->d_name);
        if (entry->d_name[0] != '.')
            unlink(at);
    }
    closedir(dir);
    rmdir(folder);
}

const char *input_folder(void)
{
    const char *below = getenv("TMPDIR");

    if (folder[0] != '\0')
        return folder;
    if (below == NULL) /* in memory, where there is such a place */
        below = access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp";
    snprintf(folder, sizeof folder, "%s/fuzz-XXXXXX", below);
    if (mkdtemp(folder) == NULL || atexit(clean_up) != 0)
        exit(1);
    return folder;
}

const char *input_file(const char *name, const uint8_t *data, size_t size)
{
    FILE *file;

    snprintf(path, sizeof path, "%s/%s", input_folder(), name);
    file = fopen(path, "wb");
    if (file == NULL)
        exit(1);
    if (size > 0 && fwrite(data, 1, size, file) != size)
        exit(1);
    if (fclose(file) != 0)
        exit(1);
    return path;
}
