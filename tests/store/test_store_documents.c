/* SPDX-License-Identifier: MIT */
/* Documents that were made are known again by their digest, and by nothing else. */
#include "store/store_bench.h"

#define FIRST  "1111111111111111111111111111111111111111111111111111111111111111"
#define SECOND "2222222222222222222222222222222222222222222222222222222222222222"

static struct store_document document_of(const char *digest, const char *tags, int64_t made_ms)
{
    return (struct store_document){.digest = text_copy(digest),
                                   .tags = text_copy(tags),
                                   .who = text_copy("meyer'; --"),
                                   .host = text_copy("panel"),
                                   .tool = text_copy("asleft 0.1.0"),
                                   .made_ms = made_ms};
}

static void put(struct store *store, const struct store_document *document)
{
    struct error error = {0};
    assert_done(store_put_document(store, document, &error), &error);
}

static void assert_known(struct store *store, const struct store_document *document)
{
    struct error error = {0};
    struct store_document back;
    bool found = false;
    assert_done(store_find_document(store, document->digest, &found, &back, &error), &error);
    assert_true(found);
    assert_text(back.digest, document->digest);
    assert_text(back.tags, document->tags);
    assert_text(back.who, document->who);
    assert_text(back.host, document->host);
    assert_text(back.tool, document->tool);
    assert_int_equal(back.made_ms, document->made_ms);
    store_document_free(&back);
    assert_null(back.digest);
}

static void assert_unknown(struct store *store, const char *digest)
{
    struct error error = {0};
    struct store_document back = {.made_ms = 7};
    bool found = true;
    assert_done(store_find_document(store, digest, &found, &back, &error), &error);
    assert_false(found);
    assert_null(back.digest);
    assert_int_equal(back.made_ms, 0);
    store_document_free(&back);
}

static void each_is_found_by_its_digest(void **state)
{
    const struct bench *bench = *state;
    struct store_document one = document_of(FIRST, "P-1", 1767225600123), two = document_of(SECOND, "P-1, P-2", 5);
    struct store *store = open_store(bench, STORE_KEEP);
    put(store, &one);
    assert_unknown(store, SECOND);
    put(store, &two);
    assert_known(store, &one);
    assert_known(store, &two);
    store_close(store);

    store = open_store(bench, STORE_LOOK);
    assert_known(store, &one);
    assert_known(store, &two);
    store_close(store);
    store_document_free(&one);
    store_document_free(&two);
}

static void one_that_is_known_stays_as_it_is(void **state)
{
    struct store_document first = document_of(FIRST, "P-1", 1000), again = document_of(FIRST, "P-2", 2000);
    struct store *store = open_store(*state, STORE_KEEP);
    put(store, &first);
    put(store, &first);
    put(store, &again);
    assert_known(store, &first);
    store_close(store);
    store_document_free(&first);
    store_document_free(&again);
}

static void what_is_not_there_is_not_found(void **state)
{
    struct store_document one = document_of(FIRST, "P-1", 1000);
    struct store *store = open_store(*state, STORE_KEEP);
    assert_unknown(store, FIRST);
    put(store, &one);
    assert_unknown(store, "");
    assert_unknown(store, "1111");
    assert_unknown(store, FIRST "1");
    assert_unknown(store, "' OR 1 = 1 --");
    store_close(store);
    store_document_free(&one);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        BENCH_TEST(each_is_found_by_its_digest),
        BENCH_TEST(one_that_is_known_stays_as_it_is),
        BENCH_TEST(what_is_not_there_is_not_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
