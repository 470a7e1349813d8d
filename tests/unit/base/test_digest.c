#include <stdlib.h>
#include <string.h>

#include "base/digest.h"
#include "unit_test.h"

/* NIST, SHA-256 examples of FIPS 180-4 ("abc", 448 bits) and the known digest
 * of the empty message (NIST CAVP SHA256ShortMsg, Len = 0). */
static void digests_of_nist(void **state)
{
    (void)state;
    char hex[DIGEST_SIZE];
    digest_hex("", 0, hex);
    assert_string_equal("e3b0c44298fc1c149afbf4c8996fb924"
                        "27ae41e4649b934ca495991b7852b855",
                        hex);
    digest_hex("abc", 3, hex);
    assert_string_equal("ba7816bf8f01cfea414140de5dae2223"
                        "b00361a396177a9cb410ff61f20015ad",
                        hex);
    const char *words =
        "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq";
    digest_hex(words, strlen(words), hex);
    assert_string_equal("248d6a61d20638b8e5c026930c3e6039"
                        "a33ce45964ff2167f6ecedd419db06c1",
                        hex);
}

/* Every byte changed in every way, and every length. */
static void a_check_tells_damage(void **state)
{
    enum { LENGTH = 83 };
    char bytes[LENGTH] = {0}, sound[CHECK_SIZE], hex[CHECK_SIZE];

    (void)state;
    for (int i = 0; i < LENGTH; i++)
        bytes[i] = (char)(i * 37);
    check_hex(bytes, LENGTH, sound);
    assert_int_equal(16, strlen(sound));
    for (int i = 0; i < LENGTH; i++)
        for (int change = 1; change < 256; change++) {
            bytes[i] = (char)(bytes[i] ^ change);
            check_hex(bytes, LENGTH, hex);
            assert_string_not_equal(sound, hex);
            bytes[i] = (char)(bytes[i] ^ change);
        }
    for (size_t length = 0; length < LENGTH; length++) {
        check_hex(bytes, length, hex);
        assert_string_not_equal(sound, hex);
    }
    check_hex(bytes, LENGTH, hex);
    assert_string_equal(sound, hex);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(digests_of_nist),
        cmocka_unit_test(a_check_tells_damage),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
