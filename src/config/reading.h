/* What the readers of config/ share while one file is read. */
#ifndef CONFIG_READING_H
#define CONFIG_READING_H

#include "base/ini.h"
#include "config/config.h"

/* What [sources] says of a service, whether used or not. */
struct service_words {
    char *url, *key; /* owned; NULL if not told */
    int line;
};

struct config_reading {
    const char *path;
    struct ini ini;
    struct config *config;
    struct error_list *errors, *warnings;
    int errors_before;        /* how many there were before this file */
    const char *const *known; /* names of services */
    int known_count;
    struct service_words *services; /* known_count of them */
};

/* A value as it is shown in messages: controls escaped, long ones cut, never
 * a secret. */
enum { SHOWN_SIZE = 100 };
void value_shown(const struct config_key *key, const char *value,
                 char out[SHOWN_SIZE]);

/* One error about a value; each names file, line, key and value. */
void refuse_value(struct config_reading *reading, const struct config_key *key,
                  const struct ini_value *value);
void refuse_range(struct config_reading *reading, const struct config_key *key,
                  const struct ini_value *value);
void refuse_because(struct config_reading *reading,
                    const struct config_key *key, const struct ini_value *value,
                    const char *sentence);
/* For a word that is not among those known; near may be NULL. */
void refuse_near(struct config_reading *reading, const struct config_key *key,
                 const struct ini_value *value, const char *word,
                 const char *near);
/* The same, which looks for the nearest itself. */
void refuse_word(struct config_reading *reading, const struct config_key *key,
                 const struct ini_value *value, const char *word,
                 const char *const *known, int known_count);

/* The row of a service in use, or NULL. Borrowed. */
struct config_source *config_source_find(struct config *config,
                                         const char *name);

/* The value of a key in a section ("bush north"), or NULL. Borrowed. */
const struct ini_value *reading_value(const struct config_reading *reading,
                                      const char *section, const char *key);
/* The line of a section's heading; 0 if the file has none. */
int reading_section_line(const struct config_reading *reading,
                         const char *section);

typedef void value_reader(struct config_reading *reading,
                          const struct config_key *key,
                          const struct ini_value *value, void *section_data);

/* value.c */
value_reader read_text, read_number, read_integer, read_quantity, read_word;
value_reader read_yes_no, read_clock, read_date, read_path;
/* value_trade.c */
value_reader read_species, read_gathering, read_zone, read_language;
value_reader read_quiet, read_alerts;
/* The words of enum storage_site, in its order; NULL-terminated (keys.c). */
extern const char *const site_words[];
/* value_tanks.c: `tanks`; and, once all is read, tanks and storage made one. */
value_reader read_tanks;
void tanks_settle(struct config_reading *reading);
/* value_net.c */
value_reader read_contact, read_station, read_listen, read_mail_server;
value_reader read_address, read_addresses, read_use;
value_reader read_service_url, read_service_key;
/* value_upload.c */
value_reader read_page_address, read_upload, read_host_key;

/* Where a row's field lies in its section's structure. */
void *value_field(const struct config_key *key, void *section_data);

/* Splits at commas, blanks trimmed; an empty part is a word too, for its reader
 * to refuse. The caller frees with words_free. */
char **words_split(const char *list, int *count);
void words_free(char **words, int count);

/* Bytes of the control character at `at`, 0 if it is none: those of ASCII,
 * U+0080 to U+009F, and the line separators U+2028 and U+2029, which end a
 * line elsewhere. */
size_t control_length(const char *at);
bool words_have_control(const char *words);

/* "HH:MM" of `length` bytes as minutes, up to 24:00; false if it is none. */
bool clock_parse(const char *words, size_t length, int *minutes);

/* A path as meant by the file: "~/" is the home folder, a relative one starts
 * at the folder of the configuration. Owned by the caller. */
char *path_resolve(const char *config_path, const char *words);

/* "scheme://host[:port][/path]" taken apart; borrowed from the text. */
struct url_parts {
    size_t scheme_length;
    const char *host; /* without the brackets of an IPv6 address */
    size_t host_length;
    const char *path; /* "" or from its slash on */
};
/* False if it is none: blanks, controls, non-ASCII, a user, a query or a
 * fragment in it, or a port that is none. */
bool url_parse(const char *url, struct url_parts *out);
bool url_has_scheme(const char *url, const struct url_parts *parts,
                    const char *scheme);
/* A host that is this machine: localhost, 127.0.0.0/8, ::1. */
bool host_is_loopback(const char *host, size_t length);
/* A port number, 1 to 65535, that ends the text. */
bool port_valid(const char *words);

/* service.c: fills config->sources from what was read and gives the
 * defaults. */
void services_settle(struct config_reading *reading);

/* place_key.c: `place` of a bush as its three keys, before they are read; and
 * whether a key that is not there was told by it. */
void places_expand(struct config_reading *reading);
bool place_stands_for(const struct config_reading *reading, const char *section,
                      const char *key);
value_reader read_place;

/* section.c: walks the sections and hands each key to its reader. */
void sections_read(struct config_reading *reading);

/* assume.c: defaults that a value replaces; then what was not told, and a
 * sentence for each assumption that matters. */
void config_preset(struct config *config);
void config_assume(struct config_reading *reading);
/* check_sense.c: contradictions (errors), and what is legal but doubtful
 * (warnings). */
void config_check_sense(struct config_reading *reading);
void config_doubt(struct config_reading *reading);

/* zone_guess.c: the zone of North America's clocks by longitude, between
 * Newfoundland and the Pacific; NULL elsewhere. Lines of ours, laid so that
 * the sugar country falls right (49 CFR part 71 has the true ones of the
 * United States); wrong by an hour in Gaspe, Madawaska, and Ontario west of
 * Lake Superior. Borrowed. */
const char *zone_guess_by_place(double latitude, double longitude);
/* This machine's own zone by /etc/localtime; owned, NULL if not told or not
 * known. */
char *zone_guess_system(void);
/* The same of where that file leads to. */
char *zone_of_link(const char *target);
/* A name of an offset, as EST, Etc/GMT+5 and UTC, not of a place: its clock
 * never changes to summer time. */
bool zone_is_fixed(const char *zone_name);
/* Hours between the zone's clock in winter and the sun's at a longitude; 0 for
 * a zone that is not known. */
double zone_sun_gap_h(const char *zone_name, double longitude);

#endif
