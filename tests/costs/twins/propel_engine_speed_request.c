/* Which speed the engine is asked for, by hand throttle and pedal. */
#include "propel_engine_speed_request.h"

struct propel_engine_speed_request {
    struct engine_speed_request request;
};

const uint32_t propel_engine_speed_request_size = sizeof(struct propel_engine_speed_request);

void propel_engine_speed_request_new(struct propel_engine_speed_request *self)
{
    engine_speed_request_init(&self->request, 8 * 900, 8 * 2400, 1000, 2000);
}

void propel_engine_speed_request_step(struct propel_engine_speed_request *self, const int32_t *in, int32_t *out)
{
    const struct reading hand = { in[0] != 0, in[1] };
    const struct reading foot = { in[2] != 0, in[3] };
    out[0] = engine_speed_request_step(&self->request, reading_or(hand, 0), reading_or(foot, 0), in[4], in[5]);
}
