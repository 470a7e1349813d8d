/* Readers of the mail server and of mail addresses. */
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/memory.h"
#include "base/words.h"
#include "config/reading.h"

void read_mail_server(struct config_reading *reading,
                      const struct config_key *key,
                      const struct ini_value *value, void *section_data)
{
    struct url_parts parts;
    if (!url_parse(value->value, &parts) ||
        (!url_has_scheme(value->value, &parts, "smtp") &&
         !url_has_scheme(value->value, &parts, "smtps"))) {
        refuse_value(reading, key, value);
        return;
    }
    char **field = value_field(key, section_data);
    free(*field);
    *field = mem_copy_text(value->value);
}

static bool all_ascii(const char *words, size_t length)
{
    for (size_t i = 0; i < length; i++)
        if ((unsigned char)words[i] > 0x7E)
            return false;
    return true;
}

/* Dots stand between characters only. */
static bool dots_valid(const char *words, size_t length)
{
    if (length == 0 || words[0] == '.' || words[length - 1] == '.')
        return false;
    for (size_t i = 1; i < length; i++)
        if (words[i] == '.' && words[i - 1] == '.')
            return false;
    return true;
}

/* A dot-atom of RFC 5322 section 3.2.3, at most 64 bytes (RFC 5321 section
 * 4.5.3.1.1). */
static bool local_valid(const char *words, size_t length)
{
    static const char allowed[] = "abcdefghijklmnopqrstuvwxyz"
                                  "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
                                  "0123456789.!#$%&'*+-/=?^_`{|}~";
    return length <= 64 && strspn(words, allowed) >= length &&
           dots_valid(words, length);
}

static bool domain_valid(const char *domain)
{
    static const char allowed[] = "abcdefghijklmnopqrstuvwxyz"
                                  "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-.";
    size_t length = strlen(domain);
    return strspn(domain, allowed) == length && dots_valid(domain, length) &&
           domain[0] != '-' && domain[length - 1] != '-';
}

/* A sentence, or NULL for an address that can be handed to a mail server. */
static const char *address_problem(const char *address)
{
    const char *at = strchr(address, '@');
    if (strpbrk(address, " \t<>\"(),;:"))
        return _("write the bare address, as in ann@example.org");
    if (!at)
        return _("there is no @ in it");
    if (strchr(at + 1, '@'))
        return _("there is more than one @ in it");
    size_t length = (size_t)(at - address);
    if (!all_ascii(address, length))
        return _("the part before the @ must be plain ASCII: many mail "
                 "servers take nothing else");
    if (!local_valid(address, length))
        return _("the part before the @ is no mail name");
    if (!all_ascii(at + 1, strlen(at + 1)))
        return _("write the domain in its ASCII form (xn--...)");
    if (!domain_valid(at + 1) || strlen(address) > 254)
        return _("the part after the @ is no domain name");
    return NULL;
}

/* Tells what is wrong with one address of a list; true if all is well. */
static bool address_accepted(struct config_reading *reading,
                             const struct config_key *key,
                             const struct ini_value *value, char *address)
{
    const char *problem = address_problem(address);
    struct ini_value one = {
        .key = value->key, .value = address, .line = value->line};
    if (problem)
        refuse_because(reading, key, &one, problem);
    return !problem;
}

void read_address(struct config_reading *reading, const struct config_key *key,
                  const struct ini_value *value, void *section_data)
{
    char **field = value_field(key, section_data);
    if (!address_accepted(reading, key, value, value->value))
        return;
    free(*field);
    *field = mem_copy_text(value->value);
}

/* Capitals count before the @ and not after it (RFC 5321 section 2.4). */
static bool same_address(const char *a, const char *b)
{
    const char *at = strchr(a, '@');
    size_t local = at ? (size_t)(at - a) : strlen(a);
    return strncmp(a, b, local) == 0 && strcasecmp(a + local, b + local) == 0;
}

/* Takes out each address that came before, and tells it; returns how many are
 * left. */
static int leave_out_twins(struct config_reading *reading,
                           const struct config_key *key,
                           const struct ini_value *value, char **words,
                           int count)
{
    int kept = 0;
    for (int i = 0; i < count; i++) {
        int j = 0;
        while (j < kept && !same_address(words[j], words[i]))
            j++;
        if (j == kept) {
            words[kept++] = words[i];
            continue;
        }
        error_list_add(reading->warnings,
                       _("%s:%d: %s: %s stands there twice; one mail is sent "
                         "to it"),
                       reading->path, value->line, key->key, words[i]);
        free(words[i]);
    }
    return kept;
}

void read_addresses(struct config_reading *reading,
                    const struct config_key *key, const struct ini_value *value,
                    void *section_data)
{
    enum { MAX_ADDRESSES = 50 };
    struct config_mail *mail = section_data;
    int count;
    char **words = words_split(value->value, &count);
    bool good = count <= MAX_ADDRESSES;
    if (!good)
        refuse_because(reading, key, value,
                       _("more than 50 addresses; send to a list instead"));
    for (int i = 0; i < count && i < MAX_ADDRESSES; i++)
        good = address_accepted(reading, key, value, words[i]) && good;
    if (good && mail->to_count == 0) {
        mail->to = words;
        mail->to_count = leave_out_twins(reading, key, value, words, count);
    } else {
        words_free(words, count);
    }
}
