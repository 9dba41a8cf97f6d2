/* SPDX-License-Identifier: MIT */
/* The digest that a document bears of itself: put in, and tried. */
#include "files/seal.h"

#include "types/memory.h"

#include <errno.h>
#include <sha2.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MARK = sizeof SEAL_MARK - 1, DIGITS = SEAL_DIGEST - 1, LARGEST = 64 << 20 };

/* Where the digits of the only mark begin; NULL where there is none, more than one, or no room for them. */
static const char *find_digits(const char *text, size_t length)
{
    const char *mark = memmem(text, length, SEAL_MARK, MARK);
    if (mark == NULL)
        return NULL;
    const char *digits = mark + MARK;
    size_t left = length - (size_t)(digits - text);
    return left >= DIGITS && memmem(digits, left, SEAL_MARK, MARK) == NULL ? digits : NULL;
}

/* Of all bytes, with zeros in the place of the digits. */
static void digest_open(const char *text, size_t length, const char *digits, char digest[SEAL_DIGEST])
{
    static const char zeros[] = "0000000000000000000000000000000000000000000000000000000000000000";
    size_t before = (size_t)(digits - text);
    SHA2_CTX context;
    SHA256Init(&context);
    SHA256Update(&context, (const uint8_t *)text, before);
    SHA256Update(&context, (const uint8_t *)zeros, DIGITS);
    SHA256Update(&context, (const uint8_t *)digits + DIGITS, length - before - DIGITS);
    (void)SHA256End(&context, digest);
}

bool seal_apply(char *text, size_t length, char digest[SEAL_DIGEST])
{
    const char *digits = find_digits(text, length);
    digest[0] = '\0';
    if (digits == NULL || strspn(digits, "0") < DIGITS)
        return false;
    digest_open(text, length, digits, digest);
    memcpy(text + (digits - text), digest, DIGITS);
    return true;
}

enum seal seal_try(const char *text, size_t length, char digest[SEAL_DIGEST])
{
    const char *digits = find_digits(text, length);
    char is[SEAL_DIGEST];
    digest[0] = '\0';
    if (digits == NULL)
        return SEAL_NONE;
    for (size_t i = 0; i < DIGITS; i++)
        if (strchr("0123456789abcdef", digits[i]) == NULL || digits[i] == '\0')
            return SEAL_NONE;
    memcpy(digest, digits, DIGITS);
    digest[DIGITS] = '\0';
    digest_open(text, length, digits, is);
    return strcmp(is, digest) == 0 ? SEAL_WHOLE : SEAL_ALTERED;
}

bool seal_try_file(const char *path, enum seal *seal, char digest[SEAL_DIGEST], struct error *error)
{
    char *text = NULL;
    size_t length = 0, got = 1;
    FILE *file = fopen(path, "re");
    if (file == NULL)
        return error_set(error, ERROR_FILE, "%s cannot be read: %s", path, strerror(errno));
    enum { PIECE = 65536 };
    for (size_t room = 0; got > 0 && length <= LARGEST; length += got) {
        if (length + PIECE > room) {
            room = 2 * room + PIECE;
            char *more = memory_new(room, 1);
            if (length > 0)
                memcpy(more, text, length);
            free(text);
            text = more;
        }
        got = fread(text + length, 1, PIECE, file);
    }
    bool read = ferror(file) == 0;
    (void)fclose(file);
    if (!read)
        error_set(error, ERROR_FILE, "%s cannot be read: %s", path, strerror(errno));
    else if (length > LARGEST)
        read = error_set(error, ERROR_FILE, "%s has more than 64 MiB, which no document of this program has", path);
    else
        *seal = seal_try(text, length, digest);
    free(text);
    return read;
}
