/* One upload, for the hosts of check_upload.py.
 *   upload_once URL USER PASSWORD_FILE HOST_KEY FOLDER MEMORY
 * ("-" for what is not told) prints how many files were sent and unchanged,
 * or the sentence that says why not, and then ends with 1. */
#include <stdio.h>
#include <string.h>

#include "net/http.h"
#include "net/upload.h"

static const char *told(const char *word)
{
    return strcmp(word, "-") == 0 ? NULL : word;
}

int main(int argc, char **argv)
{
    static const char *const names[] = {"calendar.ics", "bulletin.json",
                                        "index.html"};
    struct upload_result result;
    struct error err = {""};
    int code;

    if (argc != 7 || http_global_start(&err) != 0)
        return 2;
    struct upload_target target = {told(argv[1]), told(argv[2]), told(argv[3]),
                                   told(argv[4])};
    code =
        upload_folder(&target, argv[5], names, 3, argv[6], NULL, &result, &err);
    printf("sent %d, unchanged %d\n", result.sent, result.unchanged);
    if (code != 0)
        printf("%s\n", err.text);
    http_global_end();
    return code == 0 ? 0 : 1;
}
