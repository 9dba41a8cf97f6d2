/* SPDX-License-Identifier: MIT */
/* All that motor, drive, supply and job limit together. */
#include "motor/limits.h"

#include "motor/analog.h"
#include "motor/dc_bus.h"
#include "motor/drive_rating.h"
#include "motor/efficiency_class.h"
#include "motor/frequency_check.h"
#include "motor/hazards.h"
#include "motor/installation.h"
#include "motor/running.h"
#include "motor/voltage.h"

typedef void check_function(const struct installation *installation, struct setpoints *setpoints);

static check_function *const checks[] = {
    highest_frequency_check, lowest_frequency_check, voltage_check,  drive_rating_check, dc_bus_check, analog_check,
    efficiency_check,        hazards_check,          running_expect,
};

void limits_check(const struct sheet *sheet, const struct map *map, const struct nameplate *plate,
                  struct setpoints *setpoints)
{
    struct installation installation;
    installation_read(sheet, map, plate, &installation);
    setpoints->derived.dc_bus_loaded_v = dc_bus_loaded_v(&sheet->supply, sheet->drive.front_end);
    for (size_t i = 0; i < sizeof checks / sizeof *checks; i++)
        checks[i](&installation, setpoints);
}
