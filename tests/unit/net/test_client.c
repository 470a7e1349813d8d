/* The client as it should be: identity, expiry, conditional requests, the
 * cache from one process to the next, hosts side by side. */
#include "client_bench.h"

static void test_who_we_are(void **state)
{
    struct bench *bench = *state;
    char agent[128];

    ask(bench, NOW, "/plain?who");
    snprintf(agent, sizeof agent, "thawbell/%s (sugar@example.org)",
             program_version());
    assert_string_equal(agent, header_seen(bench, "/plain", "user-agent"));
    assert_string_equal("gzip",
                        header_seen(bench, "/plain", "accept-encoding"));
    assert_string_equal("application/json",
                        header_seen(bench, "/plain", "accept"));
    assert_string_equal("", header_seen(bench, "/plain", "if-none-match"));
    assert_string_equal("", header_seen(bench, "/plain", "if-modified-since"));
}

static void test_a_contact_is_wanted(void **state)
{
    static const char *const bad[] = {
        "", "a\r\nX: y", "a(b", "a)b", "a\\b", "\xc3\xa4@example.org"};
    struct bench *bench = *state;
    struct error err;

    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        err.text[0] = '\0';
        assert_null(http_transport_open(bench->folder, bad[i], NULL, &err));
        assert_has(err.text, "contact");
    }
    assert_null(http_transport_open(bench->folder, NULL, NULL, &err));
    assert_null(http_transport_open("/dev/null/x", "a@b.example", NULL, &err));
}

static void test_a_body_is_handed_on(void **state)
{
    struct bench *bench = *state;
    struct transport_answer *answer = ask(bench, NOW, "/plain?body");

    assert_int_equal(200, answer->status);
    assert_int_equal(3, answer->length);
    assert_string_equal("[1]", answer->body);
    assert_int_equal(NOW, answer->fetched);
    assert_null(answer->held);
    assert_false(answer->deprecated);
    assert_string_equal("", answer->trouble);
    assert_int_equal(NOW + INTERVAL_S, answer->next);
}

/* The service's expiry of 1800 s, although our interval is shorter. */
static void test_not_asked_before_expiry(void **state)
{
    struct bench *bench = *state;
    struct transport_answer *answer = ask_good(bench, NOW, "/expiry");
    utc_s next = answer->next;
    int before = seen(bench, "/expiry");

    assert_in_range(next, NOW + 1800 + PACE_OFFSET_MIN_S,
                    NOW + 1800 + PACE_OFFSET_MIN_S + PACE_OFFSET_SPREAD_S);
    answer = ask(bench, next - 1, "/expiry");
    assert_int_equal(before, seen(bench, "/expiry"));
    assert_null(answer->body);
    assert_string_equal("[1]", answer->held);
    assert_int_equal(NOW, answer->held_fetched);
    assert_int_equal(0, answer->status);
    assert_int_equal(next, answer->next);
    bench_reopen(bench);
    answer = ask(bench, next - 1, "/expiry");
    assert_int_equal(before, seen(bench, "/expiry"));
    assert_string_equal("[1]", answer->held);
    /* Then asked, told "unchanged", and good for another 900 s. */
    answer = ask(bench, next, "/expiry");
    assert_int_equal(before + 1, seen(bench, "/expiry"));
    assert_int_equal(304, answer->status);
    assert_null(answer->body);
    assert_string_equal("[1]", answer->held);
    assert_int_equal(NOW, answer->held_fetched);
    assert_string_equal("", answer->trouble);
    assert_in_range(answer->next, next + 900, next + 1300);
    bench_reopen(bench);
    ask(bench, next + 800, "/expiry");
    assert_int_equal(before + 1, seen(bench, "/expiry"));
}

static void test_etag_is_echoed(void **state)
{
    struct bench *bench = *state;

    ask_good(bench, NOW, "/etag");
    bench_reopen(bench);
    assert_int_equal(304, ask(bench, NOW + 600, "/etag")->status);
    assert_string_equal("\"one, two\"",
                        header_seen(bench, "/etag", "if-none-match"));
}

/* Seen in the field: a date in the future; and one in an odd form. Both are
 * sent back as they came. */
static void test_last_modified_is_echoed(void **state)
{
    struct bench *bench = *state;

    ask_good(bench, NOW, "/since");
    assert_int_equal(304, ask(bench, NOW + INTERVAL_S, "/since")->status);
    assert_string_equal("Sun, 08 Mar 2099 14:20:00 GMT",
                        header_seen(bench, "/since", "if-modified-since"));
    ask_good(bench, NOW, "/asctime");
    assert_int_equal(304, ask(bench, NOW + INTERVAL_S, "/asctime")->status);
    assert_string_equal("Sun Mar  8 14:20:00 2026",
                        header_seen(bench, "/asctime", "if-modified-since"));
}

static void test_new_body_beside_the_held_one(void **state)
{
    struct bench *bench = *state;
    struct transport_answer *answer;

    ask_good(bench, NOW, "/changing");
    answer = ask(bench, NOW + INTERVAL_S, "/changing");
    assert_string_equal("[2]", answer->body);
    assert_string_equal("[1]", answer->held);
    assert_int_equal(NOW, answer->held_fetched);
    settle(bench, NOW + INTERVAL_S, "/changing", false);
    answer = ask(bench, NOW + INTERVAL_S + 30, "/changing");
    assert_null(answer->body);
    assert_string_equal("[1]", answer->held);
    assert_has(answer->trouble, "127.0.0.1 sent an answer of no use "
                                "(no series in it); asking again at 12:4");
    /* The bad one's validator is not kept. */
    answer = ask_good(bench, NOW + INTERVAL_S + 300, "/changing");
    assert_string_equal("\"1\"",
                        header_seen(bench, "/changing", "if-none-match"));
    answer = ask(bench, NOW + INTERVAL_S + 330, "/changing");
    assert_string_equal("[3]", answer->held);
    assert_string_equal("", answer->trouble);
}

/* A program that dies between asking and judging asks again soon, not at
 * once, and not only after the service's expiry. */
static void test_unjudged_body_is_not_kept(void **state)
{
    struct bench *bench = *state;
    struct transport_answer *answer;

    ask(bench, NOW, "/plain?unjudged");
    bench_reopen(bench);
    answer = ask(bench, NOW + 60, "/plain?unjudged");
    assert_null(answer->body);
    assert_null(answer->held);
    assert_int_equal(0, answer->status);
    answer = ask(bench, NOW + 130, "/plain?unjudged");
    assert_non_null(answer->body);
}

/* A newer program may refuse what an older one took. */
static void test_held_body_judged_bad_is_sent_anew(void **state)
{
    struct bench *bench = *state;

    ask_good(bench, NOW, "/etag?anew");
    ask(bench, NOW + 100, "/etag?anew");
    settle(bench, NOW + 100, "/etag?anew", false);
    assert_int_equal(200, ask(bench, NOW + 600, "/etag?anew")->status);
    assert_string_equal("", header_seen(bench, "/etag", "if-none-match"));
}

static void test_packed_transfer(void **state)
{
    struct bench *bench = *state;
    struct transport_answer *answer = ask(bench, NOW, "/packed");

    assert_int_equal(100003, answer->length);
    assert_memory_equal("[1] ", answer->body, 4);
}

static void test_two_media_types_two_answers(void **state)
{
    struct bench *bench = *state;
    struct transport_request request =
        request_for(url_at(bench, 1, "/plain?type"));
    int before = seen(bench, "/plain");

    ask_with(bench, NOW, &request);
    request.accept = "application/geo+json";
    ask_with(bench, NOW, &request);
    assert_int_equal(before + 2, seen(bench, "/plain"));
}

static void test_damaged_cache_file_is_asked_anew(void **state)
{
    struct bench *bench = *state;
    char *command = mem_format("for f in '%s'/*.answer; do "
                               "echo x >>\"$f\"; done",
                               bench->folder);
    struct transport_answer *answer;

    ask_good(bench, NOW, "/plain?damaged");
    assert_int_equal(0, system(command));
    free(command);
    answer = ask(bench, NOW + 10, "/plain?damaged");
    assert_int_equal(200, answer->status);
    assert_null(answer->held);
}

/* A clock that ran a year ahead and was put right. */
static void test_clock_set_back(void **state)
{
    struct bench *bench = *state;

    ask_good(bench, NOW + 365 * SECONDS_PER_DAY, "/plain?clock");
    assert_int_equal(200, ask(bench, NOW, "/plain?clock")->status);
}

static void test_asked_anew_at_most_hourly(void **state)
{
    struct bench *bench = *state;
    struct transport_request request =
        request_for(url_at(bench, 1, "/plain?renew"));

    request.min_interval_s = SECONDS_PER_DAY;
    ask_with(bench, NOW, &request);
    settle(bench, NOW, "/plain?renew", true);
    assert_int_equal(0, ask_with(bench, NOW + 4000, &request)->status);
    request.renew = true;
    assert_int_equal(0, ask_with(bench, NOW + 3500, &request)->status);
    assert_int_equal(200, ask_with(bench, NOW + 3700, &request)->status);
}

static void test_same_address_twice_at_once(void **state)
{
    struct bench *bench = *state;
    struct transport_request requests[3];
    struct transport_answer answers[3];
    int before = seen(bench, "/plain");

    for (int i = 0; i < 3; i++)
        requests[i] = request_for(url_at(bench, 1, "/plain?twice"));
    bench->transport.fetch(bench->transport.self, NOW, requests, 3, answers);
    assert_int_equal(before + 1, seen(bench, "/plain"));
    for (int i = 0; i < 3; i++) {
        assert_string_equal("[1]", answers[i].body);
        transport_answer_free(&answers[i]);
    }
}

/* Twelve answers that take 0.3 s each, on four hosts: one after the other at
 * a host, the hosts side by side. */
static void test_one_connection_a_host(void **state)
{
    struct bench *bench = *state;
    struct transport_request requests[12];
    struct transport_answer answers[12];
    char urls[12][128];
    double start = seconds(), took;
    int most = 0;

    for (int i = 0; i < 12; i++) {
        snprintf(urls[i], sizeof urls[i], "http://127.0.0.%d:%d/slow/%d",
                 i % 4 + 1, bench->server->port, i);
        requests[i] = request_for(urls[i]);
    }
    bench->transport.fetch(bench->transport.self, NOW, requests, 12, answers);
    took = seconds() - start;
    for (int i = 0; i < 12; i++) {
        char path[32];
        cJSON *request;
        int in_flight;

        assert_string_equal("[1]", answers[i].body);
        transport_answer_free(&answers[i]);
        snprintf(path, sizeof path, "/slow/%d", i);
        request = fault_server_request(bench->server, path, -1, NULL);
        in_flight = cJSON_GetObjectItem(request, "in_flight")->valueint;
        most = in_flight > most ? in_flight : most;
        cJSON_Delete(request);
    }
    assert_int_equal(1, most);
    /* One by one they would take 3.6 s. */
    assert_true(took > 0.8 && took < 2.5);
}

/* The pieces fetch() is made of, driven from a loop of one's own. */
static void test_driven_step_by_step(void **state)
{
    struct bench *bench = *state;
    struct transport_request request =
        request_for(url_at(bench, 1, "/slow/steps"));
    struct transport_answer answer;
    int steps = 0;

    http_begin(bench->http, NOW, &request, &answer);
    while (http_step(bench->http, 20))
        steps++;
    assert_true(steps > 2);
    assert_string_equal("[1]", answer.body);
    transport_answer_free(&answer);
}

static void test_given_up_for_want_of_time(void **state)
{
    struct bench *bench = *state;
    struct transport_request requests[2];
    struct transport_answer answers[2];
    char first[128];

    snprintf(first, sizeof first, "%s", url_at(bench, 1, "/slow/left-a"));
    requests[0] = request_for(first);
    requests[1] = request_for(url_at(bench, 1, "/slow/left-b"));
    for (int i = 0; i < 2; i++)
        http_begin(bench->http, NOW, &requests[i], &answers[i]);
    assert_true(http_step(bench->http, 20));
    http_abandon(bench->http);
    assert_false(http_step(bench->http, 0));
    assert_has(answers[0].trouble, "127.0.0.1 did not answer in time");
    assert_has(answers[1].trouble, "no time left to ask 127.0.0.1");
    assert_in_range(answers[1].next, NOW + 1, NOW + 300);
    assert_int_equal(0, seen(bench, "/slow/left-b"));
    for (int i = 0; i < 2; i++)
        transport_answer_free(&answers[i]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        BENCH_TEST(test_who_we_are),
        BENCH_TEST(test_a_contact_is_wanted),
        BENCH_TEST(test_a_body_is_handed_on),
        BENCH_TEST(test_not_asked_before_expiry),
        BENCH_TEST(test_etag_is_echoed),
        BENCH_TEST(test_last_modified_is_echoed),
        BENCH_TEST(test_new_body_beside_the_held_one),
        BENCH_TEST(test_unjudged_body_is_not_kept),
        BENCH_TEST(test_held_body_judged_bad_is_sent_anew),
        BENCH_TEST(test_packed_transfer),
        BENCH_TEST(test_two_media_types_two_answers),
        BENCH_TEST(test_damaged_cache_file_is_asked_anew),
        BENCH_TEST(test_clock_set_back),
        BENCH_TEST(test_asked_anew_at_most_hourly),
        BENCH_TEST(test_same_address_twice_at_once),
        BENCH_TEST(test_one_connection_a_host),
        BENCH_TEST(test_driven_step_by_step),
        BENCH_TEST(test_given_up_for_want_of_time),
    };

    return cmocka_run_group_tests(tests, group_set_up, group_tear_down);
}
