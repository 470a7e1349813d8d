/* A folder of the test's own, taken away with all that is in it. */
#ifndef SUPPORT_OWN_FOLDER_H
#define SUPPORT_OWN_FOLDER_H

#include <stdio.h>
#include <stdlib.h>

#include "base/memory.h"
#include "unit_test.h"

enum { OWN_FOLDER_SIZE = 64 };

/* Whose it is, should one be left behind, is told by its name. */
static inline void own_folder_make(char folder[static OWN_FOLDER_SIZE],
                                   const char *name)
{
    snprintf(folder, OWN_FOLDER_SIZE, "/tmp/test-%s-XXXXXX", name);
    assert_non_null(mkdtemp(folder));
}

static inline void own_folder_remove(const char *folder)
{
    char *command = mem_format("rm -r '%s'", folder);

    assert_int_equal(0, system(command));
    free(command);
}

#endif
