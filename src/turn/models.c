#include "turn/models.h"

#include <dirent.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "base/file.h"
#include "base/memory.h"

/* More than species times gatherings: only many folders fill it. */
enum { MAX_ROWS = 64 };

struct row {
    char *folder; /* "": the program's own alone */
    enum species species;
    int gathering; /* -1: it is the season's */
    struct tree_model *tree;
    struct season_model *season;
};

struct turn_models {
    struct row rows[MAX_ROWS];
    int count;
    utc_s looked; /* at the files; 0: never */
    uint64_t stamp;
};

struct turn_models *turn_models_new(void)
{
    return mem_alloc(1, sizeof(struct turn_models));
}

static void forget(struct turn_models *models)
{
    for (int i = 0; i < models->count; i++) {
        tree_model_free(models->rows[i].tree);
        free(models->rows[i].season);
        free(models->rows[i].folder);
    }
    models->count = 0;
}

void turn_models_free(struct turn_models *models)
{
    if (models == NULL)
        return;
    forget(models);
    free(models);
}

/* Odd multipliers, so that no two of the figures can stand for each other. */
static uint64_t stamp_of(const struct stat *status)
{
    uint64_t sum = (uint64_t)status->st_ino * UINT64_C(0x9e3779b97f4a7c15);

    sum = (sum ^ (uint64_t)status->st_size) * UINT64_C(0xff51afd7ed558ccd);
    sum = (sum ^ (uint64_t)status->st_mtim.tv_sec) * UINT64_C(1099511628211);
    sum = (sum ^ (uint64_t)status->st_mtim.tv_nsec) *
          UINT64_C(0x9e3779b97f4a7c15);
    return sum ^ sum >> 31;
}

/* A sum: folders tell their files in any order. */
static uint64_t folder_stamp(const char *path)
{
    DIR *folder = opendir(path);
    const struct dirent *entry;
    struct stat status;
    uint64_t sum = 0;

    if (folder == NULL)
        return 0;
    while ((entry = readdir(folder)) != NULL)
        if (strstr(entry->d_name, ".json") != NULL &&
            fstatat(dirfd(folder), entry->d_name, &status, 0) == 0)
            sum += stamp_of(&status);
    closedir(folder);
    return sum;
}

static bool folder_seen(const struct turn_models *models, int row)
{
    for (int i = 0; i < row; i++)
        if (strcmp(models->rows[i].folder, models->rows[row].folder) == 0)
            return true;
    return models->rows[row].folder[0] == '\0';
}

static uint64_t stamp_all(const struct turn_models *models)
{
    char *own = file_find_data("models", NULL);
    uint64_t sum = own != NULL ? folder_stamp(own) : 0;

    for (int i = 0; i < models->count; i++)
        if (!folder_seen(models, i))
            sum += folder_stamp(models->rows[i].folder);
    free(own);
    return sum;
}

/* Before a row is added: what is read next is of this stamp or a later one. */
static void look(struct turn_models *models, utc_s now)
{
    if (models->looked == now)
        return;
    models->looked = now;
    if (models->count == 0)
        return;
    if (stamp_all(models) != models->stamp)
        forget(models);
}

static struct row *find(struct turn_models *models, const char *folder,
                        enum species species, int gathering)
{
    const char *name = folder != NULL ? folder : "";

    for (int i = 0; i < models->count; i++)
        if (models->rows[i].species == species &&
            models->rows[i].gathering == gathering &&
            strcmp(models->rows[i].folder, name) == 0)
            return &models->rows[i];
    return NULL;
}

/* The stamp is taken before its files are read, and those of the folders that
 * are known already stay: one that changes meanwhile is read once more. */
static struct row *add(struct turn_models *models, const char *folder,
                       enum species species, int gathering)
{
    struct row *row;

    if (models->count == MAX_ROWS)
        forget(models);
    if (models->count == 0)
        models->stamp = stamp_all(models);
    row = &models->rows[models->count++];
    *row = (struct row){.folder = mem_copy_text(folder),
                        .species = species,
                        .gathering = gathering};
    if (!folder_seen(models, models->count - 1))
        models->stamp += folder_stamp(row->folder);
    return row;
}

/* One that could not be read; the stamp is of no more use. */
static void drop_all(struct turn_models *models)
{
    forget(models);
    models->looked = 0;
}

const struct tree_model *turn_models_tree(struct turn_models *models, utc_s now,
                                          const char *folder,
                                          enum species species,
                                          enum gathering gathering,
                                          struct error *err)
{
    struct row *row;

    look(models, now);
    row = find(models, folder, species, (int)gathering);
    if (row != NULL)
        return row->tree;
    row = add(models, folder, species, (int)gathering);
    if (tree_model_load(folder, species, gathering, &row->tree, err) == 0)
        return row->tree;
    drop_all(models);
    return NULL;
}

const struct season_model *turn_models_season(struct turn_models *models,
                                              utc_s now, const char *folder,
                                              enum species species,
                                              struct error *err)
{
    struct row *row;

    look(models, now);
    row = find(models, folder, species, -1);
    if (row != NULL)
        return row->season;
    row = add(models, folder, species, -1);
    row->season = mem_alloc(1, sizeof *row->season);
    if (season_model_load(folder, species, row->season, err) == 0)
        return row->season;
    drop_all(models);
    return NULL;
}
