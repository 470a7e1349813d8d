/* The client against what goes wrong in the field. */
#include "client_bench.h"

static void test_web_page_in_place_of_data(void **state)
{
    struct bench *bench = *state;
    struct transport_answer *answer = fault(bench, "html");

    assert_int_equal(200, answer->status);
    assert_has(answer->body, "Sign in");
    settle(bench, NOW, "/fault/html", false);
    answer = ask(bench, NOW + 10, "/fault/html");
    assert_trouble(answer, 0,
                   "127.0.0.1 answered with a web page in place of data "
                   "(perhaps this network wants a sign-in); asking again at "
                   "12:22 UTC",
                   120, 150);
}

/* What looks like an answer is handed on, to be refused by the decoder. */
static void test_nonsense_is_handed_on(void **state)
{
    static const char *const names[] = {
        "text", "half-error", "nan", "deep", "cut-packed", "stale", "future"};
    struct bench *bench = *state;

    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        struct transport_answer *answer = fault(bench, names[i]);

        assert_non_null(answer->body);
        assert_int_equal(200, answer->status);
        assert_string_equal("", answer->trouble);
    }
}

static void test_bad_answers_back_off(void **state)
{
    static const int minutes[] = {2, 4, 8, 16, 32, 60, 60};
    struct bench *bench = *state;
    utc_s now = NOW;
    int before = seen(bench, "/fault/text");

    for (int i = 0; i < 7; i++) {
        struct transport_answer *answer = ask(bench, now, "/fault/text");

        assert_non_null(answer->body);
        settle(bench, now, "/fault/text", false);
        bench_reopen(bench);
        answer = ask(bench, now + 1, "/fault/text");
        assert_int_equal(0, answer->status);
        /* Up to a quarter of jitter, and the way off a full hour. */
        assert_in_range(answer->next, now + minutes[i] * 60,
                        now + minutes[i] * 75 + 400);
        now = answer->next;
    }
    assert_int_equal(before + 7, seen(bench, "/fault/text"));
}

static void test_cut_off(void **state)
{
    static const char *const names[] = {"cut", "reset", "reset-body"};
    struct bench *bench = *state;

    for (int i = 0; i < 3; i++)
        assert_trouble(fault(bench, names[i]), 0,
                       "127.0.0.1 broke off in its answer", 120, 150);
}

static void test_packed_badly(void **state)
{
    assert_trouble(fault(*state, "bad-gzip"), 0, "cannot be unpacked", 120,
                   150);
}

/* 128 MiB in 600 kB: stopped at the cap, without the time or the memory. */
static void test_gzip_bomb(void **state)
{
    double start = seconds();

    assert_trouble(fault(*state, "gzip-bomb"), 0,
                   "sent more than an answer may hold", 120, 150);
    assert_true(seconds() - start < 3.5);
}

static void test_more_than_allowed(void **state)
{
    struct bench *bench = *state;
    struct transport_request request =
        request_for(url_at(bench, 1, "/packed?cap"));

    assert_trouble(fault(bench, "big"), 0, "sent more than an answer may hold",
                   120, 150);
    assert_trouble(fault(bench, "endless"), 0,
                   "sent more than an answer may hold", 120, 150);
    request.max_bytes = 100002;
    assert_trouble(ask_with(bench, NOW, &request), 0,
                   "sent more than an answer may hold", 120, 150);
    request = request_for(url_at(bench, 1, "/packed?cap2"));
    request.max_bytes = 100003;
    assert_int_equal(100003, ask_with(bench, NOW, &request)->length);
}

/* The caps of these tests: under 100 bytes/s for 2 s, 6 s in all. */
static void test_slow_and_silent(void **state)
{
    static const struct {
        const char *name;
        double least_s, most_s;
    } rows[] = {{"drip", 1.5, 4.5}, {"silent", 1.5, 4.5}, {"trickle", 5.5, 7}};
    struct bench *bench = *state;

    for (int i = 0; i < 3; i++) {
        double start = seconds(), took;

        bench_reopen(bench); /* or the host would still be held */
        assert_trouble(fault(bench, rows[i].name), 0,
                       "127.0.0.1 did not answer in time", 120, 150);
        took = seconds() - start;
        if (took < rows[i].least_s || took > rows[i].most_s)
            fail_msg("%s took %.2f s", rows[i].name, took);
    }
}

/* A fetch as a whole has a cap as well: what is not reached says so. */
static void test_fetch_has_a_cap(void **state)
{
    struct bench *bench = *state;
    struct http_caps caps = http_caps_default();
    struct transport_request requests[4];
    struct transport_answer answers[4];
    char urls[4][128];
    double start;

    http_transport_free(bench->http);
    caps.fetch_ms = 500;
    bench->http =
        http_transport_open(bench->folder, "sugar@example.org", &caps, NULL);
    bench->transport = http_transport(bench->http);
    for (int i = 0; i < 4; i++) {
        snprintf(urls[i], sizeof urls[i], "%s/%d",
                 url_at(bench, 1, "/slow/cap"), i);
        requests[i] = request_for(urls[i]);
    }
    start = seconds();
    bench->transport.fetch(bench->transport.self, NOW, requests, 4, answers);
    assert_true(seconds() - start < 1.5);
    assert_string_equal("[1]", answers[0].body);
    assert_has(answers[3].trouble, "no time left to ask 127.0.0.1");
    for (int i = 0; i < 4; i++)
        transport_answer_free(&answers[i]);
}

/* Once a host does not answer, its other addresses are not waited for. */
static void test_dead_host_is_tried_once(void **state)
{
    struct bench *bench = *state;
    struct transport_request requests[3];
    struct transport_answer answers[3];
    char urls[3][128];
    int before = seen(bench, "/plain/dead");

    for (int i = 0; i < 3; i++) {
        snprintf(urls[i], sizeof urls[i], "http://127.0.0.%d:%d%s",
                 i == 2 ? 2 : 1, bench->server->port,
                 i == 0 ? "/fault/silent" : "/plain/dead");
        requests[i] = request_for(urls[i]);
    }
    bench->transport.fetch(bench->transport.self, NOW, requests, 3, answers);
    assert_has(answers[0].trouble, "did not answer in time");
    assert_string_equal(answers[0].trouble, answers[1].trouble);
    assert_int_equal(answers[0].next, answers[1].next);
    assert_string_equal("[1]", answers[2].body);
    assert_int_equal(before + 1, seen(bench, "/plain/dead"));
    for (int i = 0; i < 3; i++)
        transport_answer_free(&answers[i]);
    /* The next process knows as well. */
    bench_reopen(bench);
    assert_int_equal(0, ask(bench, NOW + 60, "/plain/dead")->status);
    assert_int_equal(before + 1, seen(bench, "/plain/dead"));
}

/* 30 hours of it: the last good answer stays, and we ask at most hourly. */
static void test_overloaded_for_long(void **state)
{
    struct bench *bench = *state;
    struct transport_answer *answer = ask_good(bench, NOW, "/good-then-503");
    utc_s now = answer->next, end = NOW + 30 * 3600;
    int asked = 0;

    for (; now < end; asked++) {
        answer = ask(bench, now, "/good-then-503");
        assert_int_equal(503, answer->status);
        assert_null(answer->body);
        assert_string_equal("[1]", answer->held);
        assert_int_equal(NOW, answer->held_fetched);
        assert_has(answer->trouble, "The service is overloaded");
        bench_reopen(bench);
        now = answer->next;
    }
    assert_in_range(asked, 20, 36);
}

static void test_held_stays_whatever_comes(void **state)
{
    static const char *const paths[] = {"/good-then-403", "/good-then-404",
                                        "/good-then-204", "/good-then-limit"};
    static const int statuses[] = {403, 404, 204, 429};
    struct bench *bench = *state;

    for (int i = 0; i < 4; i++) {
        struct transport_answer *answer;

        bench_reopen(bench);
        ask_good(bench, NOW, paths[i]);
        answer = ask(bench, NOW + INTERVAL_S, paths[i]);
        assert_int_equal(statuses[i], answer->status);
        assert_null(answer->body);
        assert_string_equal("[1]", answer->held);
        assert_has(answer->trouble, "127.0.0.1");
    }
}

/* "Unchanged" is an answer: the next failure is the first again. */
static void test_recovered_and_failed_again(void **state)
{
    static const int statuses[] = {503, 503, 503, 304, 503};
    struct bench *bench = *state;
    struct transport_answer *answer = ask_good(bench, NOW, "/relapse");
    utc_s now = answer->next;

    for (int i = 0; i < 5; i++) {
        answer = ask(bench, now, "/relapse");
        assert_int_equal(statuses[i], answer->status);
        assert_int_equal(statuses[i] == 304, answer->trouble[0] == '\0');
        if (i < 4)
            now = answer->next;
    }
    assert_in_range(answer->next, now + 120, now + 150);
}

static void test_page_does_not_replace_the_held_one(void **state)
{
    struct bench *bench = *state;
    struct transport_answer *answer;

    ask_good(bench, NOW, "/good-then-page");
    answer = ask(bench, NOW + INTERVAL_S, "/good-then-page");
    assert_has(answer->body, "Sign in");
    settle(bench, NOW + INTERVAL_S, "/good-then-page", false);
    bench_reopen(bench);
    answer = ask(bench, NOW + INTERVAL_S + 200, "/good-then-page");
    assert_int_equal(304, answer->status);
    assert_string_equal("\"g\"",
                        header_seen(bench, "/good-then-page", "if-none-match"));
    assert_string_equal("[1]", answer->held);
    assert_string_equal("", answer->trouble);
}

static void test_error_with_an_endless_body(void **state)
{
    struct bench *bench = *state;

    assert_trouble(ask(bench, NOW, "/endless-503"), 503,
                   "127.0.0.1 answered 503", 120, 150);
}

static void test_words_are_one_clean_line(void **state)
{
    struct bench *bench = *state;

    assert_trouble(ask(bench, NOW, "/control"), 500,
                   "(line one line  two  [31m)", 120, 150);
}

static void test_trailers_and_noise(void **state)
{
    struct bench *bench = *state;
    struct transport_answer *answer = fault(bench, "trailer");

    assert_non_null(answer->body);
    assert_int_equal(NOW + INTERVAL_S, answer->next);
    /* 200 kB of header lines are within what libcurl takes. */
    assert_non_null(fault(bench, "noise")->body);
}

static void test_nobody_there(void **state)
{
    struct bench *bench = *state;
    struct transport_request request = request_for("http://127.0.0.9:1/x");
    struct transport_answer *answer = ask_with(bench, NOW, &request);

    assert_trouble(answer, 0, "127.0.0.9 takes no connection", 120, 150);
}

/* https to a server that does not speak it. */
static void test_no_safe_connection(void **state)
{
    struct bench *bench = *state;
    char url[64];
    struct transport_request request;

    snprintf(url, sizeof url, "https://127.0.0.1:%d/", bench->server->port);
    request = request_for(url);
    assert_trouble(ask_with(bench, NOW, &request), 0,
                   "no safe connection to 127.0.0.1", 120, 150);
}

/* Nothing can be written: we stay polite from memory. */
static void test_cache_folder_gone(void **state)
{
    struct bench *bench = *state;
    char *away = mem_format("%s-away", bench->folder);
    struct transport_answer *answer;

    assert_int_equal(0, rename(bench->folder, away));
    ask_good(bench, NOW, "/plain?gone");
    answer = ask(bench, NOW + 60, "/plain?gone");
    assert_int_equal(0, answer->status);
    assert_string_equal("[1]", answer->held);
    assert_int_equal(0, rename(away, bench->folder));
    free(away);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        BENCH_TEST(test_web_page_in_place_of_data),
        BENCH_TEST(test_nonsense_is_handed_on),
        BENCH_TEST(test_bad_answers_back_off),
        BENCH_TEST(test_cut_off),
        BENCH_TEST(test_packed_badly),
        BENCH_TEST(test_gzip_bomb),
        BENCH_TEST(test_more_than_allowed),
        BENCH_TEST(test_slow_and_silent),
        BENCH_TEST(test_fetch_has_a_cap),
        BENCH_TEST(test_dead_host_is_tried_once),
        BENCH_TEST(test_overloaded_for_long),
        BENCH_TEST(test_held_stays_whatever_comes),
        BENCH_TEST(test_recovered_and_failed_again),
        BENCH_TEST(test_page_does_not_replace_the_held_one),
        BENCH_TEST(test_error_with_an_endless_body),
        BENCH_TEST(test_words_are_one_clean_line),
        BENCH_TEST(test_trailers_and_noise),
        BENCH_TEST(test_nobody_there),
        BENCH_TEST(test_no_safe_connection),
        BENCH_TEST(test_cache_folder_gone),
    };

    return cmocka_run_group_tests(tests, group_set_up, group_tear_down);
}
