/* How it stands with the store. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/file.h"
#include "base/words.h"
#include "command/check.h"
#include "store/care.h"

/* It is for the user that thawbelld runs as, whose folder it is, and for root:
 * that others may not open it is as it should be. */
static bool may_judge(const char *folder)
{
    struct stat status;

    if (stat(folder, &status) != 0)
        return errno != ENOENT && errno != EACCES;
    return geteuid() == 0 || status.st_uid == geteuid();
}

void check_read_store(struct checked *checked)
{
    char *folder = config_state_folder(checked->config);
    char *path = file_join(folder, "thawbell.db");

    if (may_judge(folder) && store_try(path, &checked->store_unusable) == 0)
        checked->store_unusable.text[0] = '\0';
    store_set_aside_list(path, &checked->warnings);
    free(path);
    free(folder);
}

int check_store_state(const struct checked *checked)
{
    if (checked->store_unusable.text[0] == '\0')
        return EXIT_DONE;
    fprintf(stderr, "%s\n", checked->store_unusable.text);
    return EXIT_FAILED;
}
