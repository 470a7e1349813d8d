/* The client where it is sent on, refused, limited or told nothing; and what
 * must not be said. */
#include "client_bench.h"

static void test_unchanged_with_nothing_held(void **state)
{
    struct bench *bench = *state;
    struct transport_answer *answer = ask(bench, NOW, "/once-same");

    assert_int_equal(200, answer->status);
    assert_string_equal("[1]", answer->body);
    assert_int_equal(2, seen(bench, "/once-same"));
    assert_string_equal("no-cache",
                        header_seen(bench, "/once-same", "cache-control"));
    answer = fault(bench, "same");
    assert_int_equal(2, seen(bench, "/fault/same"));
    assert_trouble(answer, 304, "nothing has changed, but nothing is held",
                   3600, 3700);
}

static void test_deprecated_version(void **state)
{
    struct bench *bench = *state;
    struct transport_answer *answer = ask_good(bench, NOW, "/old-version");

    assert_int_equal(203, answer->status);
    assert_true(answer->deprecated);
    answer = ask(bench, NOW + 100, "/old-version");
    assert_true(answer->deprecated);
    assert_non_null(answer->held);
    /* No conditional requests on such a product. */
    answer = ask(bench, NOW + 3000, "/old-version");
    assert_int_equal(203, answer->status);
    assert_string_equal("",
                        header_seen(bench, "/old-version", "if-none-match"));
    assert_string_equal(
        "", header_seen(bench, "/old-version", "if-modified-since"));
}

static void test_redirects_are_followed(void **state)
{
    struct bench *bench = *state;
    struct transport_answer *answer = fault(bench, "moved");

    assert_string_equal("[\"moved\"]", answer->body);
    assert_int_equal(200, answer->status);
    settle(bench, NOW, "/fault/moved", true);
    assert_string_equal("[\"moved\"]",
                        ask(bench, NOW + 10, "/fault/moved")->held);
    assert_string_equal("[4]", ask(bench, NOW, "/hop/1")->body);
    /* Nothing is remembered of a redirect. */
    ask(bench, NOW + INTERVAL_S, "/fault/moved");
    assert_int_equal(2, seen(bench, "/fault/moved"));
}

static void assert_not_followed(const struct transport_answer *answer,
                                const char *words)
{
    assert_null(answer->body);
    assert_has(answer->trouble, "127.0.0.1 sends us on");
    assert_has(answer->trouble, words);
    assert_in_range(answer->next, NOW + 3600, NOW + 3700);
}

static void test_redirects_that_are_not(void **state)
{
    struct bench *bench = *state;

    assert_not_followed(fault(bench, "moved-away"), "other.invalid");
    assert_not_followed(fault(bench, "moved-plain"), "https only");
    assert_not_followed(fault(bench, "moved-round"), "more than 3 times");
    assert_int_equal(4, seen(bench, "/fault/moved-round"));
}

static void test_refused(void **state)
{
    struct bench *bench = *state;
    struct transport_answer *answer = fault(bench, "missing");

    assert_trouble(answer, 404, "127.0.0.1 answered 404 ({\"status\"", 3600,
                   3600);
    assert_int_equal(0, ask(bench, NOW + 3599, "/fault/missing")->status);
    assert_int_equal(404, ask(bench, NOW + 3600, "/fault/missing")->status);
    answer = ask(bench, NOW, "/own-expiry-404");
    assert_in_range(answer->next, NOW + 85000, NOW + 85400);
    assert_has(answer->trouble, "asking again at 2026-03-09 1");
}

static void test_blocked_for_hours(void **state)
{
    struct bench *bench = *state;
    struct transport_answer *answer = fault(bench, "forbidden");

    assert_trouble(answer, 403, "127.0.0.1 refuses us with status 403", 21600,
                   21600);
    /* All of the host, until then. */
    answer = ask(bench, NOW + 60, "/plain/blocked");
    assert_int_equal(0, answer->status);
    assert_int_equal(0, seen(bench, "/plain/blocked"));
    bench_reopen(bench);
    assert_int_equal(0, ask(bench, NOW + 21599, "/fault/forbidden")->status);
    assert_int_equal(1, seen(bench, "/fault/forbidden"));
    assert_int_equal(403, ask(bench, NOW + 21600, "/fault/forbidden")->status);
}

static void test_limits(void **state)
{
    struct bench *bench = *state;
    static const struct {
        const char *name;
        int64_t least, most;
    } rows[] = {{"limit", 120, 150},
                {"limit-nonsense", 120, 150},
                {"limit-seconds", 300, 360},
                {"limit-date", 299, 361}};

    for (int i = 0; i < 4; i++) {
        bench_reopen(bench); /* or the host would still be held */
        assert_trouble(fault(bench, rows[i].name), 429,
                       "127.0.0.1 answered 429 ({\"error\": true, \"reason\": "
                       "\"Minutely API request limit exceeded.",
                       rows[i].least, rows[i].most);
    }
    bench_reopen(bench);
    assert_in_range(fault(bench, "limit-far")->next, NOW + SECONDS_PER_DAY,
                    NOW + SECONDS_PER_DAY + 400);
}

static void test_limit_holds_the_host(void **state)
{
    struct bench *bench = *state;

    fault(bench, "limit-seconds");
    assert_has(ask(bench, NOW + 10, "/plain/limited")->trouble, "429");
    assert_int_equal(0, seen(bench, "/plain/limited"));
    assert_int_equal(200, ask(bench, NOW + 400, "/plain/limited")->status);
}

static void test_no_data(void **state)
{
    struct bench *bench = *state;

    assert_trouble(fault(bench, "empty"), 204, "127.0.0.1 has no data", 1500,
                   1500);
}

static void test_refused_address_is_not_asked(void **state)
{
    struct bench *bench = *state;
    struct transport_request request = request_for("http://example.invalid/");
    struct transport_answer *answer = ask_with(bench, NOW, &request);

    assert_has(answer->trouble, "example.invalid is asked by https only");
    assert_null(answer->body);
    request.url = NULL;
    assert_string_not_equal("", ask_with(bench, NOW, &request)->trouble);
}

/* Everything the client writes, says or logs, searched for the key. */
static void use_a_key(struct bench *bench)
{
    struct transport_answer *answer =
        ask(bench, NOW, "/echo-key?apikey=SECRETWORD");

    assert_has(answer->trouble, "key ********** is not known");
    answer = ask(bench, NOW, "/key-away?apikey=SECRETWORD");
    assert_has(answer->trouble, "other.invalid");
    assert_lacks(answer->trouble, "SECRETWORD");
    answer = ask(bench, NOW, "/echo-body?apikey=SECRETWORD");
    bench->transport.settle(bench->transport.self, NOW,
                            url_at(bench, 1, "/echo-body?apikey=SECRETWORD"),
                            false, "no series in SECRETWORD", answer);
    assert_has(answer->trouble, "no series in **********");
    answer = ask(bench, NOW + 1, "/echo-body?apikey=SECRETWORD");
    assert_has(answer->trouble, "no series in **********");
}

static void test_a_key_stays_secret(void **state)
{
    struct bench *bench = *state;
    char *log = file_join(bench->folder, "log");
    char *command = mem_format("! grep -rq SECRETWORD '%s' && "
                               "! ls '%s' | grep -q SECRETWORD && "
                               "grep -q 'no series for key \\*' '%s'",
                               bench->folder, bench->folder, log);
    int screen = dup(STDERR_FILENO);

    assert_non_null(freopen(log, "w", stderr));
    log_set_level(LOG_LEVEL_DEBUG);
    use_a_key(bench);
    log_set_level(LOG_LEVEL_ERROR);
    fflush(stderr);
    dup2(screen, STDERR_FILENO);
    close(screen);
    assert_int_equal(0, system(command));
    free(command);
    free(log);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        BENCH_TEST(test_unchanged_with_nothing_held),
        BENCH_TEST(test_deprecated_version),
        BENCH_TEST(test_redirects_are_followed),
        BENCH_TEST(test_redirects_that_are_not),
        BENCH_TEST(test_refused),
        BENCH_TEST(test_blocked_for_hours),
        BENCH_TEST(test_limits),
        BENCH_TEST(test_limit_holds_the_host),
        BENCH_TEST(test_no_data),
        BENCH_TEST(test_refused_address_is_not_asked),
        BENCH_TEST(test_a_key_stays_secret),
    };

    return cmocka_run_group_tests(tests, group_set_up, group_tear_down);
}
