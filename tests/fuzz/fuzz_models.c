/* Any bytes as a parameter file. The first byte says which of a folder's
 * files it is: the others are the program's own. A model that is taken can be
 * asked without trouble. */
#include "promise.h"

#include "base/digest.h"
#include "tree/season.h"
#include "tree/tree.h"

static const char *const names[] = {
    "sap-sugar-maple.json", "gathering-buckets.json",
    "two-node.json",        "buds-sugar-maple.json",
    "season.json",          "stem.json",
};
enum { NAMES = sizeof names / sizeof *names };

/* A folder that holds the one file alone. */
static const char *folder_with(int which, const uint8_t *data, size_t size)
{
    static const char *last;

    if (last != NULL)
        unlink(last);
    last = input_file(names[which], data, size);
    return input_folder();
}

static void check_model(const struct tree_model *model)
{
    PROMISE(*tree_model_name(model));
    PROMISE(strlen(tree_model_digest(model)) == DIGEST_SIZE - 1);
    PROMISE(*tree_model_version(model));
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct season_model season;
    struct tree_model *model = NULL;
    struct error err = {""};
    const char *folder;
    int which, result;

    if (size == 0)
        return 0;
    which = data[0] % NAMES;
    folder = folder_with(which, data + 1, size - 1);
    result = tree_model_load(folder, SPECIES_SUGAR_MAPLE, GATHERING_BUCKETS,
                             &model, &err);
    promise_result(result, &err);
    if (result == 0)
        check_model(model);
    else
        PROMISE(strstr(err.text, names[which]));
    tree_model_free(model);
    memset(&err, 0, sizeof err);
    result = season_model_load(folder, SPECIES_SUGAR_MAPLE, &season, &err);
    promise_result(result, &err);
    PROMISE(result == 0 ? strlen(season.digest) == DIGEST_SIZE - 1
                        : strstr(err.text, names[which]) != NULL);
    return 0;
}
