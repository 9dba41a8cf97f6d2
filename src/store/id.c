/* SPDX-License-Identifier: MIT */
/* Ids of records and journals. */
#include "store/store.h"

#include <stdlib.h>
#include <sys/random.h>

struct record_id store_new_id(void)
{
    struct record_id id;
    /* so few bytes come whole, or the system has no random numbers at all */
    if (getrandom(id.bytes, sizeof id.bytes, 0) != (ssize_t)sizeof id.bytes)
        abort();
    return id;
}
