/* The page: one HTML file that needs nothing else, not even a script.
 *
 * It tells the hour in which it was made, never the minute: the same forecast
 * in the same hour gives the same bytes. A few lines of script, which a reader
 * may refuse, say how old the page has grown since. */
#ifndef PUBLISH_PAGE_H
#define PUBLISH_PAGE_H

#include "publish/bulletin.h"

enum { PAGE_MAX_BYTES = 1024 * 1024, PAGE_POLICY_SIZE = 320 };

/* The colours of what was drawn off this season, lightest first. */
enum { PAGE_MAX_DRAWS = 8 };
struct page_draw {
    const char *grade; /* its name, translated; borrowed */
    double syrup_l;
};

struct page_options {
    /* Where the publish folder is reached ("https://…/", ends in a slash), or
     * NULL: the page then links its neighbours by their names alone. */
    const char *address;
    /* From the logbook, 0 where nothing is logged. */
    double season_sap_l, season_syrup_l;
    struct page_draw draws[PAGE_MAX_DRAWS];
    int draw_count;
    /* Of the last three days, 0 where none or where it is not known. The page
     * may be public: it tells the number, `thawbell check` the rest. */
    int mails_given_up;
};

/* The caller frees. Same bulletin and options, same bytes; `made` counts by
 * its hour alone. options may be NULL. */
char *page_to_html(const struct bulletin *bulletin,
                   const struct page_options *options);

/* The hour in which the bulletin was made: what the page calls now. */
utc_s page_hour(const struct bulletin *bulletin);

/* What the page may load (Content Security Policy level 3): nothing but its
 * own style and script, each by its SHA-256. For the header that the server
 * sends; the page holds the same in itself. */
void page_policy(char out[PAGE_POLICY_SIZE]);

/* Our own check before the file is swapped in: whole, valid UTF-8, nothing
 * loaded from elsewhere. 0, or -1 and a sentence. */
int page_check(const char *bytes, size_t length, struct error *err);

#endif
