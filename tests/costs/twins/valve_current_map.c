/* From a share of full command to a coil current. */
#include "valve_current_map.h"

struct valve_current_map {
    struct current_map map;
};

const uint32_t valve_current_map_size = sizeof(struct valve_current_map);

void valve_current_map_new(struct valve_current_map *self)
{
    self->map = (struct current_map){ .threshold = 420, .end = 1150 };
}

void valve_current_map_step(struct valve_current_map *self, const int32_t *in, int32_t *out)
{
    out[0] = current_map_step(&self->map, in[0]);
}
