/* Sentences that a person reads, in the reader's language.
 *
 * Every one of them is marked in the source and stands there in English:
 *     _("Boil %s")                       looked up where it is used
 *     N_("Boil")                         in a table; _(table[i]) where shown
 *     words_count("%d tap", "%d taps", n)  where a number decides
 *     words_in("column", "none")         where the same English words need
 *                                        others in another place
 * xgettext collects them into src/words/thawbell.pot, src/words/fr.po holds
 * the French, msgfmt makes share/locale/fr/LC_MESSAGES/thawbell.mo of it, and
 * that file is read here: the C library's own gettext speaks French only where
 * a French locale is installed (docs/decisions.md).
 *
 * Beside the program's own language each thread may use another for a while,
 * so that an operation's words are made in its language while the log goes on
 * in the program's. Numbers are formatted by printf in the C locale whatever
 * the language; nothing here touches a locale. */
#ifndef BASE_WORDS_H
#define BASE_WORDS_H

#define _(words) words_find(words)
#define N_(words) words
/* Both are literals; joined as msgfmt joins them. */
#define words_in(place, words) words_in_place(place "\004" words, words)

/* The language of the whole program, from its start on: "en" or "fr"; anything
 * else counts as "en". Where the catalogue is missing or broken the words stay
 * English, and the log says so once. */
void words_program(const char *language);
/* The language of the calling thread from now on, the program's with NULL.
 * Returns what was in use before, to be put back by another call. */
const char *words_use(const char *language);
const char *words_language(void); /* of the calling thread: "en" or "fr" */
/* "fr" if the environment (LC_ALL, LC_MESSAGES, LANG, the first that is set)
 * asks for French, else "en". */
const char *words_of_environment(void);

/* The words in the language in use, `english` itself where there are none.
 * Borrowed; lives as long as the program. */
const char *words_find(const char *english) __attribute__((format_arg(1)));
/* The same with a form for one and a form for several of `count`. */
const char *words_count(const char *one, const char *several, long count)
    __attribute__((format_arg(1), format_arg(2)));
const char *words_in_place(const char *key, const char *english)
    __attribute__((format_arg(2)));
/* What errno says, in the language in use. */
const char *words_errno(int code);

#endif
