/* Any bytes as a catalogue of translated words. */
#include "promise.h"

#include "base/catalogue.h"
#include "base/memory.h"

static void check_found(const char *words)
{
    if (words)
        PROMISE(utf8_valid(words, strlen(words)));
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const char *const english[] = {"", "Boil %s", "%d tap",
                                          "column\004none"};
    char *bytes = mem_copy_bytes((const char *)data, size);
    struct catalogue *catalogue = catalogue_open(bytes, size);

    if (catalogue == NULL) {
        free(bytes);
        return 0;
    }
    PROMISE(catalogue_find(catalogue, "", 0));
    for (size_t i = 0; i < sizeof english / sizeof *english; i++)
        for (int form = 0; form <= 1; form++)
            check_found(catalogue_find(catalogue, english[i], form));
    catalogue_free(catalogue);
    return 0;
}
