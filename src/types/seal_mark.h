/* SPDX-License-Identifier: MIT */
/* Where a document bears the digest of itself. */
#ifndef ASLEFT_TYPES_SEAL_MARK_H
#define ASLEFT_TYPES_SEAL_MARK_H

/* The mark, and 64 digits that stand in the place of the digest until the document is sealed. */
#define SEAL_MARK "asleft-document-sha256:"
#define SEAL_OPEN SEAL_MARK "0000000000000000000000000000000000000000000000000000000000000000"

#endif
