/* The outbox: nothing that was put is lost or comes twice, whatever ends the
 * program; what cannot be delivered is given up once and stays visible. */
#include <string.h>

#include "store/outbox.h"
#include "store_bench.h"

enum { HOUR = SECONDS_PER_HOUR };

static const char *const the_bend = "tamarack-bend";
static const char body[] = "Subject: x\r\n\r\nbody\0with a NUL\r\n";

static bool put(struct bench *bench, const char *operation, const char *name,
                utc_s best_before)
{
    static const struct outbox_recipient recipients[] = {
        {"ann@bush.test", "<a@bush.test>", "To: <ann@bush.test>\r\n"},
        {"bob@farm.test", "<b@bush.test>", "To: <bob@farm.test>\r\n"}};
    struct outbox_mail mail = {.operation = operation,
                               .name = name,
                               .kind = "morning",
                               .sender = "bend@bush.test",
                               .made = NOW,
                               .best_before = best_before,
                               .body = body,
                               .length = sizeof body - 1,
                               .recipients = recipients,
                               .recipient_count = 2};
    bool added;

    if (outbox_put(bench->store, &mail, &added, &bench->err) != 0)
        fail_msg("%s", bench->err.text);
    return added;
}

static bool claim(struct bench *bench, utc_s now, struct outbox_row *row)
{
    bool found;

    if (outbox_claim(bench->store, the_bend, now, row, &found, &bench->err) !=
        0)
        fail_msg("%s", bench->err.text);
    return found;
}

static void settle(struct bench *bench, const struct outbox_row *row,
                   enum outbox_end end, utc_s next)
{
    assert_int_equal(0, outbox_settle(bench->store, row->id, row->message_id,
                                      NOW + 7, end, next, 451,
                                      "mail.test takes no mail for now",
                                      &bench->err));
}

static struct outbox_summary sum(struct bench *bench)
{
    struct outbox_summary summary;

    if (outbox_sum(bench->store, the_bend, 0, &summary, &bench->err) != 0)
        fail_msg("%s", bench->err.text);
    return summary;
}

static void a_row_a_recipient(void **state)
{
    struct bench *bench = *state;
    struct outbox_row row;

    assert_true(put(bench, the_bend, "morning 2026-03-07", NOW + HOUR));
    assert_false(put(bench, the_bend, "morning 2026-03-07", NOW + HOUR));
    assert_true(put(bench, "another", "morning 2026-03-07", NOW + HOUR));
    assert_true(claim(bench, NOW, &row));
    assert_string_equal(row.recipient, "ann@bush.test");
    assert_string_equal(row.message_id, "<a@bush.test>");
    assert_string_equal(row.sender, "bend@bush.test");
    assert_string_equal(row.name, "morning 2026-03-07");
    assert_int_equal(row.attempts, 1);
    assert_int_equal(row.length, 21 + sizeof body - 1);
    assert_memory_equal(row.message, "To: <ann@bush.test>\r\n", 21);
    assert_memory_equal(row.message + 21, body, sizeof body - 1);
    outbox_row_free(&row);
    assert_true(claim(bench, NOW, &row));
    assert_string_equal(row.recipient, "bob@farm.test");
    outbox_row_free(&row);
    /* The other operation's rows are not ours. */
    assert_false(claim(bench, NOW + HOUR, &row));
}

/* Row and decision are one: what is rolled back was never told. */
static void with_the_decision(void **state)
{
    struct bench *bench = *state;
    struct outbox_row row;

    assert_int_equal(0, store_begin(bench->store, &bench->err));
    assert_true(put(bench, the_bend, "overflow", NOW + HOUR));
    store_rollback(bench->store);
    assert_false(claim(bench, NOW, &row));
    assert_int_equal(0, store_begin(bench->store, &bench->err));
    assert_true(put(bench, the_bend, "overflow", NOW + HOUR));
    assert_int_equal(0, store_commit(bench->store, &bench->err));
    bench_open(bench);
    assert_true(claim(bench, NOW, &row));
    outbox_row_free(&row);
}

static void left_sending(void **state)
{
    struct bench *bench = *state;
    struct outbox_row row, again;
    int count;

    put(bench, the_bend, "overflow", NOW + HOUR);
    assert_true(claim(bench, NOW, &row));
    bench_open(bench); /* as after a kill: nothing was settled */
    assert_int_equal(0, outbox_recover(bench->store, NOW + 60, &count, NULL));
    assert_int_equal(count, 1);
    assert_false(claim(bench, NOW - 1, &again));
    assert_true(claim(bench, NOW + 60, &again)); /* bob's was due before */
    assert_string_equal(again.recipient, "bob@farm.test");
    outbox_row_free(&again);
    assert_true(claim(bench, NOW + 60, &again));
    assert_int_equal(again.id, row.id);
    assert_int_equal(again.attempts, 2);
    assert_int_equal(again.length, row.length);
    assert_memory_equal(again.message, row.message, row.length);
    outbox_row_free(&again);
    outbox_row_free(&row);
}

static void settled(void **state)
{
    struct bench *bench = *state;
    struct outbox_summary summary;
    struct outbox_row row;

    put(bench, the_bend, "overflow", NOW + HOUR);
    assert_true(claim(bench, NOW, &row));
    settle(bench, &row, OUTBOX_RETRY, NOW + 300);
    outbox_row_free(&row);
    assert_true(claim(bench, NOW, &row));
    settle(bench, &row, OUTBOX_SENT, 0);
    outbox_row_free(&row);
    assert_false(claim(bench, NOW + 299, &row));
    summary = sum(bench);
    assert_int_equal(summary.waiting, 1);
    assert_int_equal(summary.sent, 1);
    assert_int_equal(summary.dead, 0);
    assert_int_equal(summary.oldest, NOW);
    assert_int_equal(summary.next, NOW + 300);
    assert_int_equal(summary.attempts, 1);
    assert_int_equal(summary.reply, 451);
    assert_string_equal(summary.words, "mail.test takes no mail for now");
    outbox_summary_free(&summary);
    assert_true(claim(bench, NOW + 300, &row));
    assert_int_equal(row.attempts, 2);
    settle(bench, &row, OUTBOX_DEAD, 0);
    /* An answer that comes after the end changes nothing. */
    settle(bench, &row, OUTBOX_SENT, 0);
    outbox_row_free(&row);
    summary = sum(bench);
    assert_int_equal(summary.waiting, 0);
    assert_int_equal(summary.oldest, 0);
    assert_int_equal(summary.next, 0);
    assert_null(summary.words);
    assert_int_equal(summary.given_up.count, 1);
    assert_string_equal(summary.given_up.items[0].recipient, "ann@bush.test");
    assert_int_equal(summary.given_up.items[0].settled, NOW + 7);
    assert_int_equal(summary.given_up.items[0].attempts, 2);
    outbox_summary_free(&summary);
}

/* A row of the store that was set aside ends late: the new store's row of the
 * same number is another mail. */
static void settled_for_another(void **state)
{
    struct bench *bench = *state;
    struct outbox_summary summary;
    struct outbox_row row;

    put(bench, the_bend, "overflow", NOW + HOUR);
    assert_true(claim(bench, NOW, &row));
    assert_int_equal(0,
                     outbox_settle(bench->store, row.id, "<old@bush.test>", NOW,
                                   OUTBOX_SENT, 0, 250, "", &bench->err));
    summary = sum(bench);
    assert_int_equal(summary.sent, 0);
    assert_int_equal(summary.sending, 1);
    outbox_summary_free(&summary);
    settle(bench, &row, OUTBOX_SENT, 0);
    outbox_row_free(&row);
    summary = sum(bench);
    assert_int_equal(summary.sent, 1);
    outbox_summary_free(&summary);
}

/* Put off under a clock that was ahead: due when the clock is right again. */
static void put_off_by_a_wrong_clock(void **state)
{
    struct bench *bench = *state;
    struct outbox_row row;

    put(bench, the_bend, "overflow", NOW + 100 * HOUR);
    assert_int_equal(
        0, outbox_hold(bench->store, the_bend, NOW + 2 * HOUR, NULL, NULL));
    assert_int_equal(0, outbox_unstick(bench->store, NOW, NULL));
    assert_false(claim(bench, NOW + 2 * HOUR - 1, &row));
    assert_int_equal(
        0, outbox_hold(bench->store, the_bend, NOW + 3 * HOUR, NULL, NULL));
    assert_int_equal(0, outbox_unstick(bench->store, NOW, NULL));
    assert_true(claim(bench, NOW, &row));
    outbox_row_free(&row);
}

static void assert_held(struct bench *bench, utc_s until, const char *why,
                        const char *words, int reply)
{
    struct outbox_summary summary;

    assert_int_equal(0, outbox_hold(bench->store, the_bend, until, why, NULL));
    summary = sum(bench);
    assert_string_equal(summary.words, words);
    assert_int_equal(summary.reply, reply);
    outbox_summary_free(&summary);
}

static void held_for_a_reason(void **state)
{
    static const char why[] = "password: cannot be read";
    struct bench *bench = *state;
    struct outbox_summary summary;
    struct outbox_row row;

    put(bench, the_bend, "overflow", NOW + HOUR);
    assert_held(bench, NOW + 900, why, why, 0);
    summary = sum(bench);
    assert_int_equal(summary.attempts, 0);
    outbox_summary_free(&summary);
    assert_true(claim(bench, NOW + 900, &row));
    settle(bench, &row, OUTBOX_RETRY, NOW + 1000);
    outbox_row_free(&row);
    assert_held(bench, NOW + 1200, NULL, "mail.test takes no mail for now",
                451);
    assert_held(bench, NOW + 1500, why, why, 0);
}

static void given_up_in_time(void **state)
{
    struct bench *bench = *state;
    struct outbox_letters letters;
    struct outbox_row row;
    utc_s due;

    put(bench, the_bend, "morning", NOW + HOUR);
    assert_true(claim(bench, NOW, &row));
    settle(bench, &row, OUTBOX_RETRY, NOW + 2 * HOUR);
    outbox_row_free(&row);
    assert_int_equal(0, outbox_due(bench->store, the_bend, &due, NULL));
    assert_int_equal(due, NOW);
    assert_int_equal(
        0, outbox_hold(bench->store, the_bend, NOW + 900, NULL, NULL));
    assert_false(claim(bench, NOW + 899, &row));
    assert_int_equal(0, outbox_due(bench->store, the_bend, &due, NULL));
    assert_int_equal(due, NOW + 900);
    assert_int_equal(0, outbox_expire(bench->store, the_bend, NOW + HOUR - 1,
                                      &letters, NULL));
    assert_int_equal(letters.count, 0);
    assert_int_equal(
        0, outbox_expire(bench->store, the_bend, NOW + HOUR, &letters, NULL));
    assert_int_equal(letters.count, 2);
    assert_string_equal(letters.items[0].recipient, "ann@bush.test");
    assert_string_equal(letters.items[0].words,
                        "mail.test takes no mail for now");
    outbox_letters_free(&letters);
    assert_int_equal(
        0, outbox_expire(bench->store, the_bend, NOW + HOUR, &letters, NULL));
    assert_int_equal(letters.count, 0); /* said once */
    assert_int_equal(0, outbox_due(bench->store, the_bend, &due, NULL));
    assert_int_equal(due, 0);
}

static void pruned(void **state)
{
    struct bench *bench = *state;
    struct outbox_summary summary;
    struct outbox_row row;

    put(bench, the_bend, "one", NOW + HOUR);
    assert_true(claim(bench, NOW, &row));
    settle(bench, &row, OUTBOX_SENT, 0);
    outbox_row_free(&row);
    /* One recipient still waits: the mail stays. */
    assert_int_equal(0, outbox_prune(bench->store, NOW + HOUR, NULL));
    summary = sum(bench);
    assert_int_equal(summary.sent + summary.waiting, 2);
    outbox_summary_free(&summary);
    assert_true(claim(bench, NOW, &row));
    settle(bench, &row, OUTBOX_SENT, 0);
    outbox_row_free(&row);
    assert_int_equal(0, outbox_prune(bench->store, NOW + 7, NULL));
    summary = sum(bench);
    assert_int_equal(summary.sent, 2); /* settled at NOW + 7 */
    outbox_summary_free(&summary);
    assert_int_equal(0, outbox_prune(bench->store, NOW + 8, NULL));
    summary = sum(bench);
    assert_int_equal(summary.sent, 0);
    outbox_summary_free(&summary);
}

static void patience(void **state)
{
    int different = 0;

    (void)state;
    assert_int_equal(outbox_next_attempt(NOW, 1, 1), NOW + 300);
    assert_int_equal(outbox_next_attempt(NOW, 2, 1), NOW + 900);
    assert_int_equal(outbox_next_attempt(NOW, 3, 1), NOW + 1800);
    for (int seed = 1; seed < 100; seed++)
        for (int attempts = 4; attempts < 30; attempts++) {
            utc_s rest = outbox_next_attempt(NOW, attempts, seed) - NOW;

            assert_in_range(rest, HOUR * 9 / 10, HOUR * 11 / 10);
            different +=
                rest != outbox_next_attempt(NOW, attempts, seed + 1) - NOW;
        }
    assert_true(different > 2400);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_row_a_recipient, set_up, tear_down),
        cmocka_unit_test_setup_teardown(with_the_decision, set_up, tear_down),
        cmocka_unit_test_setup_teardown(left_sending, set_up, tear_down),
        cmocka_unit_test_setup_teardown(settled, set_up, tear_down),
        cmocka_unit_test_setup_teardown(settled_for_another, set_up, tear_down),
        cmocka_unit_test_setup_teardown(put_off_by_a_wrong_clock, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(held_for_a_reason, set_up, tear_down),
        cmocka_unit_test_setup_teardown(given_up_in_time, set_up, tear_down),
        cmocka_unit_test_setup_teardown(pruned, set_up, tear_down),
        cmocka_unit_test(patience),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
