/* SPDX-License-Identifier: MIT */
/* Reading of a text file within limits, and finding of the bytes that do not belong in one. */
#include "files/text_file.h"

#include <errno.h>
#include <fcntl.h>
#include <sha2.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* Makes room behind what has been read, with one more byte for a NUL; false where nothing more is allowed. */
static bool make_room(struct text_file *file, size_t *capacity)
{
    enum { FIRST = 16 * 1024, MOST = TEXT_FILE_MOST + 1 }; /* a byte too many shows that there are more */
    if (file->length < *capacity)
        return true;
    if (*capacity == MOST)
        return false;
    *capacity = *capacity == 0 ? FIRST : 2 * *capacity > MOST ? MOST : 2 * *capacity;
    char *longer = memory_new(*capacity + 1, 1);
    if (file->length > 0)
        memcpy(longer, file->text, file->length);
    free(file->text);
    file->text = longer;
    return true;
}

static bool read_all(int descriptor, struct text_file *file, struct error *error)
{
    size_t capacity = 0;
    while (make_room(file, &capacity)) {
        ssize_t got = read(descriptor, file->text + file->length, capacity - file->length);
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0)
            return error_set(error, ERROR_FILE, "cannot be read: %s", strerror(errno));
        if (got == 0)
            return true;
        file->length += (size_t)got;
    }
    return error_set(error, ERROR_FILE, "is larger than 4 MiB; expected a file that a person wrote");
}

bool text_file_read(const char *path, struct text_file *file, struct error *error)
{
    *file = (struct text_file){0};
    int descriptor = open(path, O_RDONLY | O_CLOEXEC);
    if (descriptor < 0)
        return error_set(error, ERROR_FILE, "cannot be opened: %s", strerror(errno));
    struct stat status;
    bool fine = false;
    if (fstat(descriptor, &status) == 0 && S_ISDIR(status.st_mode))
        (void)error_set(error, ERROR_FILE, "is a directory; expected a file");
    else
        fine = read_all(descriptor, file, error);
    (void)close(descriptor);
    if (!fine) {
        text_file_free(file);
        return false;
    }
    (void)SHA256Data((const uint8_t *)file->text, file->length, file->sha256);
    return true;
}

void text_file_free(struct text_file *file)
{
    free(file->text);
    *file = (struct text_file){0};
}

size_t text_file_character(const unsigned char *byte, size_t left, uint32_t *character)
{
    static const uint32_t least[] = {0, 0, 0x80, 0x800, 0x10000};
    size_t length = 0;
    if (byte[0] < 0x80)
        length = 1;
    else if ((byte[0] & 0xe0) == 0xc0)
        length = 2;
    else if ((byte[0] & 0xf0) == 0xe0)
        length = 3;
    else if ((byte[0] & 0xf8) == 0xf0)
        length = 4;
    if (length == 0 || length > left)
        return 0;
    *character = length == 1 ? byte[0] : byte[0] & (0x7fU >> length);
    for (size_t i = 1; i < length; i++) {
        if ((byte[i] & 0xc0) != 0x80)
            return 0;
        *character = *character << 6 | (byte[i] & 0x3fU);
    }
    if (*character < least[length] || (*character >= 0xd800 && *character <= 0xdfff) || *character > 0x10ffff)
        return 0;
    return length;
}

/* What is wrong with a character, or NULL. Printable is as YAML 1.2.2 says, production 1. */
static const char *character_fault(uint32_t character, bool in_indentation)
{
    if (character == '\t')
        return in_indentation ? "tab used for indentation; expected spaces" : "tab; expected spaces";
    if (character == '\n' || character == '\r' || character == 0x85)
        return NULL;
    if (character == 0)
        return "NUL byte; expected text";
    if (character < 0x20 || (character >= 0x7f && character < 0xa0))
        return "control character; expected text";
    if (character == 0xfeff || character == 0xfffe || character == 0xffff)
        return "character that does not belong in text; delete it";
    return NULL;
}

bool text_file_check(const struct text_file *file, struct faults *faults)
{
    const unsigned char *bytes = (const unsigned char *)file->text;
    size_t errors_before = faults->error_count;
    struct place place = {1, 1};
    int line_with_fault = 0;
    bool in_indentation = true;
    size_t at = file->length >= 3 && memcmp(bytes, "\xef\xbb\xbf", 3) == 0 ? 3 : 0;
    while (at < file->length) {
        uint32_t character = 0;
        size_t length = text_file_character(bytes + at, file->length - at, &character);
        const char *fault = length == 0 ? NULL : character_fault(character, in_indentation);
        if (line_with_fault != place.line && (length == 0 || fault != NULL)) {
            line_with_fault = place.line;
            if (length == 0)
                faults_error(faults, place, "byte 0x%02X is not valid UTF-8; save the file as UTF-8", bytes[at]);
            else
                faults_error(faults, place, "%s", fault);
        }
        in_indentation = in_indentation && (character == ' ' || character == '\t') && length == 1;
        place.column++;
        if (length == 1 && (character == '\n' || (character == '\r' && bytes[at + 1] != '\n'))) {
            place = (struct place){place.line + 1, 1};
            in_indentation = true;
        }
        at += length == 0 ? 1 : length;
    }
    return faults->error_count == errors_before;
}
