/* The spring-applied park brake: 1.5 s for a stop. */
#include "guard_park_brake.h"

struct guard_park_brake {
    struct park_brake brake;
};

const uint32_t guard_park_brake_size = sizeof(struct guard_park_brake);

void guard_park_brake_new(struct guard_park_brake *self) { park_brake_init(&self->brake, 1500); }

void guard_park_brake_step(struct guard_park_brake *self, const int32_t *in, int32_t *out)
{
    out[0] = park_brake_step(&self->brake, in[0] != 0, in[1] != 0, in[2] != 0);
}
