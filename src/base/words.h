/* Marks every sentence that a person reads, for translation by gettext. */
#ifndef BASE_WORDS_H
#define BASE_WORDS_H

#include <libintl.h>

#define THAWBELL_TEXT_DOMAIN "thawbell"
#define _(words) dgettext(THAWBELL_TEXT_DOMAIN, words)
#define N_(words) words

#endif
