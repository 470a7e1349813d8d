/* The operation as configured: one INI file, every key checked.
 * Sections operation, bush NAME, sugarhouse, sources, calendar, mail; the keys
 * are in keys.c and docs/thawbell.conf.5.
 *
 * Reading goes on after an error: all of them are listed, each as
 * "path:line: …" with the offending word, what is allowed, and the nearest
 * known name for a misspelling. */
#ifndef CONFIG_CONFIG_H
#define CONFIG_CONFIG_H

#include <stdbool.h>
#include <stddef.h>

#include "base/civil_time.h"
#include "base/error.h"
#include "base/trade.h"
#include "base/units.h"

enum { CONFIG_MAX_BUSHES = 64, CONFIG_MAX_SOURCES = 8, CONFIG_MAX_TANKS = 4 };

struct config_bush {
    char *name; /* "north" */
    double latitude, longitude;
    double elevation_m;
    enum species species;
    int taps;
    enum gathering gathering;
    double vacuum_kpa; /* 0 without a pump */
    double fall_m;     /* of gravity tubing, 0 if not told */
    double bucket_l;   /* 0 if not told */
    bool has_tapped;
    struct civil_date tapped;
};

enum storage_site { STORAGE_SHADE, STORAGE_SUN, STORAGE_INSIDE };
enum pan_type { PAN_FLAT, PAN_RAISED_FLUE, PAN_DROP_FLUE };

struct config_tank {
    double size_l;
    enum storage_site site;
};

/* What is not told is 0 (numbers) or false. */
struct config_sugarhouse {
    bool present;
    struct config_tank tanks[CONFIG_MAX_TANKS]; /* from the bush to the pan */
    int tank_count;
    double storage_l;               /* of all tanks together */
    enum storage_site storage_site; /* of the first */
    double collecting_l_h;          /* how fast buckets are carried in */
    int hands;                      /* people at work */
    double evaporation_l_h;
    double pan_area_m2;
    enum pan_type pan_type;
    bool preheater, hood;
    double smallest_boil_l;
    double pan_sweet_l;
    double syrup_brix;                      /* default 66.9 */
    int attended_from_min, attended_to_min; /* minutes of the civil day */
    double syrup_l_per_m3_wood;
};

struct config_source {
    char *name;     /* a row of the table of services */
    char *base_url; /* without a trailing slash; NULL: the service's own */
    char *key;      /* NULL without; never shown */
};

struct config_publish {
    char *folder;     /* NULL: the state folder's public/; see below */
    char *listen;     /* "127.0.0.1:8420", "[::1]:8420" or NULL */
    char *token_file; /* NULL: see config_token_file */
    /* Where readers find what is published, or NULL; ends in a slash. */
    char *address;
    /* Where the published files are sent, or NULL: "https://…/" for WebDAV,
     * "sftp://…/"; ends in a slash. */
    char *upload;
    char *upload_user, *upload_password_file;
    char *upload_host_key; /* SHA-256 of the host's key in base64, sftp */
};

/* Bits of config_mail.alerts. */
enum config_alert {
    ALERT_RUN_STARTING = 1 << 0,
    ALERT_OVERFLOW = 1 << 1,
    ALERT_SPOILAGE = 1 << 2,
    ALERT_FREEZE_UP = 1 << 3,
    ALERT_PLAN_CHANGED = 1 << 4,
    ALERT_BUDDING = 1 << 5,
    ALERT_FORECAST_STALE = 1 << 6,
    ALERT_ALL = (1 << 7) - 1
};

struct config_mail {
    bool present;
    char *server, *user, *password_file, *from;
    char *ca_file; /* certificates to trust instead of the system's, or NULL */
    char **to;     /* to_count addresses */
    int to_count;
    int morning_min; /* minutes of the civil day */
    unsigned alerts; /* bits, see config_alert_words */
    bool has_quiet;
    int quiet_from_min, quiet_to_min;
};

struct config {
    char *path;
    char *name;       /* "Tamarack Bend" */
    char *slug;       /* "tamarack-bend": file and UID part, [a-z0-9-] */
    char *zone_name;  /* IANA, known to exist */
    char language[8]; /* "en" or "fr" */
    enum unit_system units;
    char *models; /* folder or NULL */
    char *spool;  /* folder or NULL; see config_spool_folder */
    struct config_bush *bushes;
    int bush_count;
    struct config_sugarhouse sugarhouse;
    struct config_source sources[CONFIG_MAX_SOURCES];
    int source_count;
    char *contact; /* for the User-Agent: printable ASCII, no brackets */
    char *station; /* path of the thermometer's CSV, or NULL */
    struct config_publish publish;
    struct config_mail mail;
    /* What was not told and is assumed, in sentences, for `check`. */
    struct error_list assumed;
};

/* The alert words in the order of their bits; NULL-terminated. */
extern const char *const config_alert_words[];

/* Returns 0, or -1 with all that is wrong in errors. Things that are legal
 * but doubtful (a free host's terms, an elevation far from its neighbours)
 * go to warnings. known_sources: names of the table of services. On 0 free
 * with config_free. */
int config_read(const char *path, const char *const *known_sources,
                int known_source_count, struct config **out,
                struct error_list *errors, struct error_list *warnings);
void config_free(struct config *config);

/* Name, slug, language, publish and spool folder alone, for
 * config_publish_folder and config_spool_folder; the rest is zero. Quick (no
 * zone is looked up), and an error in another key does not stand in the way:
 * what is published is to be seen while the file is being changed. NULL and a
 * sentence if the file cannot be read. Free with config_free. */
struct config *config_read_place(const char *path, struct error *err);

/* What only shows when several operations share one installation: two of
 * the same name. Returns the number of errors added. */
int config_check_together(struct config *const *configs, int count,
                          struct error_list *errors);

/* The configuration files to use: `path` if given (a file, or a folder whose
 * *.conf are meant), else *.conf in $XDG_CONFIG_HOME/thawbell (default
 * ~/.config/thawbell), else in /etc/thawbell, sorted bytewise. The caller
 * frees the list with config_files_free. */
int config_find(const char *path, char ***files, int *count, struct error *err);
void config_files_free(char **files, int count);

/* attended.c: the attended time less the parts of hours at its ends, since
 * plans go by whole hours: minutes of the civil day, and how many hours lie
 * between. */
int config_planned_hours(const struct config *config, int *from_min,
                         int *to_min);

/* The folder of what must not be lost, owned by the caller: the service
 * manager's $STATE_DIRECTORY, else /var/lib/thawbell for a configuration in
 * /etc/thawbell, else $XDG_STATE_HOME/thawbell (~/.local/state/thawbell). */
char *config_state_folder(const struct config *config);
/* The folder that holds this operation's published files (bulletin.json,
 * calendar.ics, …), owned by the caller: SLUG inside the folder that
 * `publish` names, or inside the state folder's public/. */
char *config_publish_folder(const struct config *config);

/* The file with the secret part of the address, owned by the caller: as
 * configured, else SLUG.token in the state folder. */
char *config_token_file(const struct config *config);

/* The folder where notes of the logbook wait until the daemon takes them in,
 * owned by the caller: the one that `spool` names, else /var/spool/thawbell
 * for a configuration in /etc/thawbell, else spool/ in
 * $XDG_STATE_HOME/thawbell. $STATE_DIRECTORY does not count: the client does
 * not have it, and must find the same folder as the daemon. Several
 * operations may share one. */
char *config_spool_folder(const struct config *config);

/* Each key with what it takes, for `check` and for the test that compares
 * the manual with the table. In [sources], "SERVICE url" and "SERVICE key"
 * stand for a key of each service. */
struct config_reading;
struct ini_value;
struct config_key {
    const char *section; /* "bush" for "bush NAME" */
    const char *key;
    const char *takes; /* "a height with m or ft" */
    bool required;
    /* The rest is how config/ reads it: the reader, the field's place in the
     * section's structure, the range (inclusive, in the field's unit) and,
     * where one of a few words is meant, these (NULL-terminated). */
    void (*read)(struct config_reading *reading, const struct config_key *key,
                 const struct ini_value *value, void *section_data);
    size_t offset;
    double min, max;
    enum dimension dimension;
    const char *const *words;
    bool secret; /* its value is never shown */
};
const struct config_key *config_keys(int *count);

#endif
