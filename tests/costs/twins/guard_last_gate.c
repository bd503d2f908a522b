/* The gate after the valves: currents decay in 50 ms to 150 mA. */
#include "guard_last_gate.h"

struct guard_last_gate {
    struct last_gate gate;
};

const uint32_t guard_last_gate_size = sizeof(struct guard_last_gate);

void guard_last_gate_new(struct guard_last_gate *self) { last_gate_init(&self->gate, 50, 150); }

void guard_last_gate_step(struct guard_last_gate *self, const int32_t *in, int32_t *out)
{
    out[0] = last_gate_step(&self->gate, in[0] != 0, (uint16_t)in[1]);
}
