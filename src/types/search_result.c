/* SPDX-License-Identifier: MIT */
/* Life and end of what a search found. */
#include "types/search_result.h"

#include <stdlib.h>

bool serial_format_same(const struct serial_format *a, const struct serial_format *b)
{
    return a->baud == b->baud && a->parity == b->parity && a->stop_bits == b->stop_bits;
}

bool found_unit_sure(const struct found_unit *unit)
{
    return unit->confirmed == SEARCH_CONFIRMATIONS;
}

void device_identification_free(struct device_identification *device)
{
    for (size_t i = 0; i < device->count; i++)
        free(device->objects[i].text);
    free(device->objects);
    free(device->server_id);
    *device = (struct device_identification){0};
}

void search_result_free(struct search_result *result)
{
    for (size_t i = 0; i < result->unit_count; i++)
        device_identification_free(&result->units[i].device);
    free(result->units);
    free(result->signs);
    free(result->remark);
    line_free(&result->line);
    *result = (struct search_result){0};
}
