/* SPDX-License-Identifier: MIT */
/* The digests of documents that were made, so that a document can be known again. */
#include "store/parts.h"

#include "types/memory.h"

#include <stdlib.h>

static bool put(struct store *store, void *user, struct error *error)
{
    const struct store_document *document = user;
    return store_run(store,
                     "INSERT INTO document (digest, tags, who, host, tool, made_ms) VALUES ($1, $2, $3, $4, $5, $6)"
                     " ON CONFLICT (digest) DO NOTHING",
                     CELLS(cell_of_text(document->digest), cell_of_text(document->tags), cell_of_text(document->who),
                           cell_of_text(document->host), cell_of_text(document->tool),
                           cell_of_integer(document->made_ms)),
                     NULL, NULL, error);
}

bool store_put_document(struct store *store, const struct store_document *document, struct error *error)
{
    struct store_document copy = *document;
    return store_write(store, put, &copy, error);
}

struct wanted_document {
    const char *digest;
    struct store_document *document;
    bool found;
};

static bool take(void *user, const struct cell *cells)
{
    struct wanted_document *wanted = user;
    struct store_document *document = wanted->document;
    *document = (struct store_document){.digest = text_copy(wanted->digest),
                                        .tags = cell_to_text_or_empty(&cells[0]),
                                        .who = cell_to_text_or_empty(&cells[1]),
                                        .host = cell_to_text_or_empty(&cells[2]),
                                        .tool = cell_to_text_or_empty(&cells[3]),
                                        .made_ms = cell_to_integer(&cells[4])};
    wanted->found = true;
    return false;
}

static bool find(struct store *store, void *user, struct error *error)
{
    struct wanted_document *wanted = user;
    return store_run(store, "SELECT tags, who, host, tool, made_ms FROM document WHERE digest = $1",
                     CELLS(cell_of_text(wanted->digest)), take, wanted, error);
}

bool store_find_document(struct store *store, const char *digest, bool *found, struct store_document *document,
                         struct error *error)
{
    struct wanted_document wanted = {.digest = digest, .document = document};
    *document = (struct store_document){0};
    bool done = store_read(store, find, &wanted, error);
    *found = wanted.found;
    return done;
}

void store_document_free(struct store_document *document)
{
    free(document->digest);
    free(document->tags);
    free(document->who);
    free(document->host);
    free(document->tool);
    *document = (struct store_document){0};
}
