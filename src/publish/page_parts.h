/* The parts of the page, in the order of the page. Inside publish/ only. */
#ifndef PUBLISH_PAGE_PARTS_H
#define PUBLISH_PAGE_PARTS_H

#include "base/text.h"
#include "publish/page.h"

extern const char page_style[], page_style_wide[]; /* CSS */
extern const char page_script[];                   /* JavaScript */
/* SHA-256 of each in base64 (RFC 4648 section 4), as a policy names it; a unit
 * test tells what it must be. */
extern const char page_style_digest[], page_style_wide_digest[];
extern const char page_script_digest[];

struct page {
    const struct bulletin *bulletin;
    const struct page_options *options;
    utc_s now; /* page_hour */
    struct civil_date today;
    enum unit_system units;
    struct text *out;
};

void page_add_actions(const struct page *page);
void page_add_days(const struct page *page);
void page_add_pan(const struct page *page);
void page_add_season(const struct page *page);
/* page_end.c */
void page_add_notes(const struct page *page);
void page_add_subscribe(const struct page *page);
void page_add_cautions(const struct page *page);
void page_add_credits(const struct page *page);

#endif
