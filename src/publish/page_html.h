/* Words into HTML. Inside publish/ only. */
#ifndef PUBLISH_PAGE_HTML_H
#define PUBLISH_PAGE_HTML_H

#include "base/text.h"
#include "publish/bulletin.h"

/* The words with & < > " ' as character references (safe in text and in
 * quoted attributes), controls left out. */
void html_add(struct text *out, const char *words);
/* <TAG class="CSS">words</TAG>; css_class may be NULL. */
void html_add_element(struct text *out, const char *tag, const char *css_class,
                      const char *words);
/* A link; the address is added only if it is https, http or webcal and holds
 * nothing but printable ASCII, else the words alone. */
void html_add_link(struct text *out, const char *address, const char *words);
/* Whose the weather is, each a link, and then the end, HTML, if it is anyone's;
 * and whose the reckoning is. */
void html_add_credits(struct text *out, const struct bulletin *bulletin,
                      const char *end);

#endif
