#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/text.h"
#include "base/words.h"
#include "tree/form.h"

static const struct tree_form *const forms[] = {&two_node_form, &stem_form};

static const struct parameter_row species_rows[] = {
    {"volume_share", "1", offsetof(struct tree_species, volume_share)},
    {NULL, NULL, 0},
};

#define ROW(key, unit)                                                         \
    {                                                                          \
#key, unit, offsetof(struct tree_gathering, key)                       \
    }
static const struct parameter_row gathering_rows[] = {
    ROW(warm_from_c, "C"),
    ROW(ageing_per_kkh, "1/1000 K h"),
    ROW(fall_kpa_per_m, "kPa/m"),
    ROW(suction_max_kpa, "kPa"),
    ROW(flow_gain_per_kpa, "1/kPa"),
    ROW(soil_feed_per_kpa_h, "1/kPa h"),
    ROW(tap_spread, "1"),
    {NULL, NULL, 0},
};

static const struct tree_form *find_form(const char *name)
{
    for (size_t i = 0; i < sizeof forms / sizeof *forms; i++)
        if (strcmp(forms[i]->name, name) == 0)
            return forms[i];
    return NULL;
}

/* "sap-" and "sugar maple" give "sap-sugar-maple.json". */
static char *file_name(const char *kind, const char *word)
{
    char *name = mem_format("%s%s.json", kind, word);
    for (char *p = name; *p; p++)
        if (*p == ' ')
            *p = '-';
    return name;
}

/* The three files a model is made of. */
struct model_files {
    struct parameter_file form, species, gathering;
};

static int open_files(struct model_files *files, const char *folder,
                      const char *form, enum species species,
                      enum gathering gathering, struct error *err)
{
    char *species_name = file_name("sap-", species_word(species));
    char *gathering_name = file_name("gathering-", gathering_word(gathering));
    int result =
        parameter_file_open(&files->species, folder, species_name, err);
    if (result == 0)
        result =
            parameter_file_open(&files->gathering, folder, gathering_name, err);
    if (result == 0 && !form)
        form = parameter_file_word(&files->species, "form");
    if (result == 0 && (!form || !find_form(form)))
        result = error_set(err, _("%s: form: \"%s\" is no form known here"),
                           files->species.path, form ? form : "");
    char *form_name = result == 0 ? file_name("", form) : NULL;
    if (result == 0)
        result = parameter_file_open(&files->form, folder, form_name, err);
    free(form_name);
    free(species_name);
    free(gathering_name);
    return result;
}

static void name_model(struct tree_model *model,
                       const struct model_files *files)
{
    const struct parameter_file *const each[] = {&files->form, &files->species,
                                                 &files->gathering};
    struct text versions, bytes;
    text_init(&versions, 200);
    text_init(&bytes, 1 << 20);
    for (size_t i = 0; i < sizeof each / sizeof *each; i++) {
        text_addf(&versions, i ? "/%s" : "%s",
                  parameter_file_word(each[i], "version"));
        text_add_bytes(&bytes, each[i]->bytes, each[i]->length);
        text_add_bytes(&bytes, "\n", 1);
    }
    digest_hex(bytes.bytes, bytes.length, model->digest);
    model->name = mem_copy_text(parameter_file_word(&files->form, "name"));
    model->version = text_steal(&versions);
    text_free(&bytes);
}

static struct tree_model *read_model(const struct model_files *files,
                                     const char *form, struct error *err)
{
    const struct tree_form *known =
        find_form(form ? form : parameter_file_word(&files->species, "form"));
    /* open_files has told of one that is not known. */
    if (known == NULL)
        return NULL;
    struct tree_model *model = mem_alloc(1, sizeof *model);
    model->form = known;
    model->numbers = mem_alloc(1, model->form->numbers_size);
    if (parameter_file_read(&files->form, model->form->rows, model->numbers,
                            err) != 0 ||
        parameter_file_read(&files->species, species_rows, &model->species,
                            err) != 0 ||
        parameter_file_read(&files->gathering, gathering_rows,
                            &model->gathering, err) != 0) {
        tree_model_free(model);
        return NULL;
    }
    name_model(model, files);
    return model;
}

int tree_model_load_form(const char *folder, const char *form,
                         enum species species, enum gathering gathering,
                         struct tree_model **out, struct error *err)
{
    struct model_files files = {0};
    *out = NULL;
    if (open_files(&files, folder, form, species, gathering, err) == 0)
        *out = read_model(&files, form, err);
    parameter_file_free(&files.form);
    parameter_file_free(&files.species);
    parameter_file_free(&files.gathering);
    return *out ? 0 : -1;
}

int tree_model_load(const char *folder, enum species species,
                    enum gathering gathering, struct tree_model **out,
                    struct error *err)
{
    return tree_model_load_form(folder, NULL, species, gathering, out, err);
}

void tree_model_free(struct tree_model *model)
{
    if (!model)
        return;
    free(model->numbers);
    free(model->name);
    free(model->version);
    free(model);
}

const char *tree_model_name(const struct tree_model *model)
{
    return model->name;
}

const char *tree_model_version(const struct tree_model *model)
{
    return model->version;
}

const char *tree_model_digest(const struct tree_model *model)
{
    return model->digest;
}
