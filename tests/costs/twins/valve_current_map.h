/* From a share of full command to a coil current. */
#ifndef VALVE_CURRENT_MAP_H
#define VALVE_CURRENT_MAP_H

#include "twin.h"

struct current_map {
    uint16_t threshold;
    uint16_t end;
};

/* Nothing for no command and for the opposite one, the threshold for the smallest. */
static inline uint16_t current_map_step(const struct current_map *self, int32_t share)
{
    if (share <= 0)
        return 0;
    uint32_t span = (uint32_t)(self->end - self->threshold);
    return (uint16_t)(self->threshold + (((uint64_t)span * (uint32_t)share + (1u << 29)) >> 30));
}

#endif
