/* Readers of [sources] and of the address to serve on. */
#include <arpa/inet.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/words.h"
#include "config/reading.h"

static void keep(char **field, char *owned)
{
    free(*field);
    *field = owned;
}

static bool printable_ascii(const char *words)
{
    for (; *words; words++)
        if (*words < 0x20 || *words > 0x7E)
            return false;
    return true;
}

/* It goes into a comment of the User-Agent header (RFC 9110 section 5.6.5),
 * where brackets and backslashes have a meaning of their own. */
static const char *contact_problem(const char *contact)
{
    enum { CONTACT_BYTES = 200 };
    if (strlen(contact) > CONTACT_BYTES)
        return _("it is too long; at most 200 bytes");
    if (!printable_ascii(contact))
        return _("only plain ASCII can be sent to the services");
    if (strpbrk(contact, "()\\\""))
        return _("leave out brackets, quotes and backslashes");
    const char *at = strchr(contact, '@');
    bool mail = at && at > contact && at[1] != '\0' && at[1] != ' ';
    bool page = strstr(contact, "http://") || strstr(contact, "https://");
    if (!mail && !page)
        return _("this is neither a mail address (with an @) nor the address "
                 "of a web page (with https://)");
    return NULL;
}

void read_contact(struct config_reading *reading, const struct config_key *key,
                  const struct ini_value *value, void *section_data)
{
    const char *problem = contact_problem(value->value);
    if (problem)
        refuse_because(reading, key, value, problem);
    else
        keep(value_field(key, section_data), mem_copy_text(value->value));
}

void read_station(struct config_reading *reading, const struct config_key *key,
                  const struct ini_value *value, void *section_data)
{
    const char *words = value->value;
    if (strncmp(words, "file:", 5) != 0 || words[5] == '\0') {
        refuse_value(reading, key, value);
        return;
    }
    words += 5;
    if (strncmp(words, "//", 2) == 0 && words[2] != '/') {
        refuse_because(reading, key, value,
                       _("a file of this machine is written with one slash "
                         "or three, as in file:/var/lib/sensors/bush.csv"));
        return;
    }
    words += strncmp(words, "//", 2) == 0 ? 2 : 0;
    keep(value_field(key, section_data), path_resolve(reading->path, words));
}

/* The numeric host of "HOST:PORT" or "[HOST]:PORT". */
static bool listen_valid(const char *words)
{
    const char *colon = strrchr(words, ':');
    if (!colon || !port_valid(colon + 1))
        return false;
    char host[INET6_ADDRSTRLEN] = "";
    size_t length = (size_t)(colon - words);
    bool v6 = words[0] == '[' && length > 2 && words[length - 1] == ']';
    if (v6) {
        words++;
        length -= 2;
    }
    if (length >= sizeof host)
        return false;
    memcpy(host, words, length);
    unsigned char address[sizeof(struct in6_addr)];
    return inet_pton(v6 ? AF_INET6 : AF_INET, host, address) == 1;
}

void read_listen(struct config_reading *reading, const struct config_key *key,
                 const struct ini_value *value, void *section_data)
{
    if (listen_valid(value->value))
        keep(value_field(key, section_data), mem_copy_text(value->value));
    else
        refuse_value(reading, key, value);
}

static void use_source(struct config_reading *reading,
                       const struct config_key *key,
                       const struct ini_value *value, const char *word)
{
    struct config *config = reading->config;
    bool known = false;
    for (int i = 0; i < reading->known_count; i++)
        known = known || strcmp(word, reading->known[i]) == 0;
    if (!known)
        refuse_word(reading, key, value, word, reading->known,
                    reading->known_count);
    else if (config_source_find(config, word))
        refuse_because(reading, key, value,
                       _("the same service is named twice"));
    else if (config->source_count == CONFIG_MAX_SOURCES)
        refuse_because(reading, key, value, _("too many services, at most 8"));
    else
        config->sources[config->source_count++].name = mem_copy_text(word);
}

void read_use(struct config_reading *reading, const struct config_key *key,
              const struct ini_value *value, void *section_data)
{
    (void)section_data;
    int count;
    char **words = words_split(value->value, &count);
    for (int i = 0; i < count; i++)
        use_source(reading, key, value, words[i]);
    words_free(words, count);
}

/* The service that a key such as "open-meteo url" speaks of. */
static struct service_words *service_of(struct config_reading *reading,
                                        const char *key_name)
{
    size_t length = (size_t)(strrchr(key_name, ' ') - key_name);
    for (int i = 0; i < reading->known_count; i++)
        if (strlen(reading->known[i]) == length &&
            strncmp(reading->known[i], key_name, length) == 0)
            return &reading->services[i];
    return NULL;
}

void read_service_url(struct config_reading *reading,
                      const struct config_key *key,
                      const struct ini_value *value, void *section_data)
{
    (void)section_data;
    struct service_words *service = service_of(reading, value->key);
    struct url_parts parts;
    if (service == NULL || !url_parse(value->value, &parts)) {
        refuse_value(reading, key, value);
        return;
    }
    bool https = url_has_scheme(value->value, &parts, "https");
    bool http = url_has_scheme(value->value, &parts, "http");
    if (!https && !(http && host_is_loopback(parts.host, parts.host_length))) {
        refuse_because(reading, key, value,
                       _("only https:// is safe; plain http:// is for this "
                         "machine itself, as in http://127.0.0.1:8080"));
        return;
    }
    size_t length = strlen(value->value);
    while (value->value[length - 1] == '/')
        length--;
    keep(&service->url, mem_copy_bytes(value->value, length));
    service->line = value->line;
}

void read_service_key(struct config_reading *reading,
                      const struct config_key *key,
                      const struct ini_value *value, void *section_data)
{
    (void)section_data;
    struct service_words *service = service_of(reading, value->key);
    if (service == NULL || !printable_ascii(value->value) ||
        strpbrk(value->value, " \"&#%") ||
        strlen(value->value) > (size_t)key->max) {
        refuse_because(reading, key, value,
                       _("an access key is one word of plain letters, digits "
                         "and signs, at most 200 bytes"));
        return;
    }
    keep(&service->key, mem_copy_text(value->value));
    service->line = value->line;
}
