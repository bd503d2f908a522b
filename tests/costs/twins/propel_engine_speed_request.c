/* Which speed the engine is asked for, by hand throttle and pedal. */
#include "propel_engine_speed_request.h"
#include "sense_reading.h"

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
    const struct sensed hand = sensed_from(in);
    const struct sensed foot = sensed_from(in + 2);
    /* A lever that is not read is let go of: its value is 0. */
    out[0] = engine_speed_request_step(&self->request, hand.value, foot.value, in[4], in[5]);
}
