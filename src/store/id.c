/* SPDX-License-Identifier: MIT */
/* Ids of records and journals. */
#include "store/store.h"

#include <stdlib.h>

struct record_id store_new_id(void)
{
    struct record_id id;
    arc4random_buf(id.bytes, sizeof id.bytes);
    return id;
}
