/* The datagrams of sd_notify(3), as a service manager receives them. */
#include "daemon/notify.h"

#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include "unit_test.h"

static int manager;
static char path[64];

static int listen_at(const char *name)
{
    struct sockaddr_un address = {.sun_family = AF_UNIX};
    size_t length = strlen(name);

    memcpy(address.sun_path, name, length);
    if (name[0] == '@')
        address.sun_path[0] = '\0';
    manager = socket(AF_UNIX, SOCK_DGRAM, 0);
    setenv("NOTIFY_SOCKET", name, 1);
    return bind(manager, (struct sockaddr *)&address,
                (socklen_t)(offsetof(struct sockaddr_un, sun_path) + length));
}

static int set_up(void **state)
{
    (void)state;
    unsetenv("WATCHDOG_USEC");
    unsetenv("WATCHDOG_PID");
    snprintf(path, sizeof path, "/tmp/notify-test-%ld", (long)getpid());
    return listen_at(path);
}

static int tear_down(void **state)
{
    (void)state;
    close(manager);
    unlink(path);
    unsetenv("NOTIFY_SOCKET");
    return 0;
}

static void want(const char *words)
{
    char got[2048];
    ssize_t length = recv(manager, got, sizeof got - 1, MSG_DONTWAIT);

    got[length < 0 ? 0 : length] = '\0';
    assert_string_equal(got, words);
}

static void test_words(void **state)
{
    struct notify *notify = notify_open();

    (void)state;
    notify_ready(notify);
    want("READY=1");
    notify_reloading(notify, 12345678);
    want("RELOADING=1\nMONOTONIC_USEC=12345678");
    notify_stopping(notify);
    want("STOPPING=1");
    notify_free(notify);
}

static void test_status_is_one_line_and_said_once(void **state)
{
    struct notify *notify = notify_open();

    (void)state;
    notify_status(notify, "well\nREADY=1");
    want("STATUS=well READY=1");
    notify_status(notify, "well\nREADY=1");
    want("");
    notify_status(notify, "other");
    want("STATUS=other");
    notify_free(notify);
}

static void test_watchdog(void **state)
{
    struct notify *notify;

    (void)state;
    setenv("WATCHDOG_USEC", "20000000", 1);
    notify = notify_open();
    assert_int_equal(notify_watchdog(notify, 50), 10000);
    want("WATCHDOG=1");
    assert_int_equal(notify_watchdog(notify, 4050), 6000);
    want("");
    assert_int_equal(notify_watchdog(notify, 10050), 10000);
    want("WATCHDOG=1");
    notify_free(notify);
    setenv("WATCHDOG_PID", "1", 1);
    notify = notify_open();
    assert_int_equal(notify_watchdog(notify, 50), -1);
    want("");
    notify_free(notify);
}

/* Digits alone are a number; without one there is no watchdog. */
static void test_watchdog_of_other_words(void **state)
{
    static const char *const words[] = {
        "",          " 20000000", "+20000000",           "2e7",
        "20000000 ", "-20000000", "99999999999999999999"};

    (void)state;
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        setenv("WATCHDOG_USEC", words[i], 1);
        struct notify *notify = notify_open();
        if (notify_watchdog(notify, 50) != -1)
            fail_msg("\"%s\" was taken", words[i]);
        notify_free(notify);
    }
    /* An hour: more than 32 bits hold. */
    setenv("WATCHDOG_USEC", "3600000000", 1);
    struct notify *notify = notify_open();
    assert_int_equal(notify_watchdog(notify, 50), 60000);
    notify_free(notify);
}

static void test_abstract_address(void **state)
{
    struct notify *notify;
    char name[64];

    (void)state;
    close(manager);
    snprintf(name, sizeof name, "@thawbell-test-%ld", (long)getpid());
    assert_int_equal(listen_at(name), 0);
    notify = notify_open();
    notify_ready(notify);
    want("READY=1");
    notify_free(notify);
}

static void test_nobody_listens(void **state)
{
    struct notify *notify;

    (void)state;
    setenv("WATCHDOG_USEC", "20000000", 1);
    unsetenv("NOTIFY_SOCKET");
    notify = notify_open();
    notify_ready(notify);
    assert_int_equal(notify_watchdog(notify, 1), -1);
    notify_free(notify);
    setenv("NOTIFY_SOCKET", "relative", 1);
    notify = notify_open();
    notify_ready(notify);
    notify_free(notify);
    setenv("NOTIFY_SOCKET", "/nowhere/there", 1);
    notify = notify_open();
    notify_ready(notify);
    notify_free(notify);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_words, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_status_is_one_line_and_said_once,
                                        set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_watchdog, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_watchdog_of_other_words, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(test_abstract_address, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(test_nobody_listens, set_up, tear_down),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
