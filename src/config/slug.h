/* A name as part of file names, addresses and UIDs: lower-case ASCII letters,
 * digits and single hyphens, at most 60; accents of Latin-1 fall away
 * ("Érablière du Nord" is "erabliere-du-nord"). Owned by the caller. */
#ifndef CONFIG_SLUG_H
#define CONFIG_SLUG_H

char *slug_from_name(const char *name);

/* What an operation without a name is called: its file's name without the
 * folder and the ending. Owned by the caller. */
char *name_from_path(const char *path);

#endif
