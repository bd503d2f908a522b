/* The cooler's fan, no faster than it must be. */
#include "sense_reading.h"

#define MEDIA 2

struct medium {
    int32_t cool; /* tenths of a degree */
    struct divisor width;
};

struct work_fan_drive {
    struct medium media[MEDIA];
    int32_t least;
    int32_t rise;
    int32_t fall;
    int32_t output;
};

const uint32_t work_fan_drive_size = sizeof(struct work_fan_drive);

void work_fan_drive_new(struct work_fan_drive *self)
{
    self->media[0] = (struct medium){ 800, divisor_of(200) };
    self->media[1] = (struct medium){ 500, divisor_of(400) };
    self->least = ratio_permille(200);
    self->rise = share_in_period(5000);
    self->fall = share_in_period(10000);
    self->output = 0;
}

/* Without a temperature the fan does all that it can. */
static int32_t fan_drive_asked(const struct work_fan_drive *self, const struct medium *medium,
                               struct sensed temperature)
{
    if (temperature.health != HEALTH_GOOD)
        return RATIO_ONE;
    int32_t along = divisor_share(&medium->width, at_least(temperature.value - medium->cool, 0));
    return self->least + ratio_times(RATIO_ONE - self->least, along);
}

void work_fan_drive_step(struct work_fan_drive *self, const int32_t *in, int32_t *out)
{
    int32_t asked = self->least;
    for (unsigned medium = 0; medium < MEDIA; medium++) {
        struct sensed temperature = sensed_from(in + 2 * medium);
        asked = at_least(asked, fan_drive_asked(self, &self->media[medium], temperature));
    }
    if (asked > self->output)
        self->output = at_most(ratio_plus(self->output, self->rise), asked);
    else
        self->output = at_least(ratio_minus(self->output, self->fall), asked);
    out[0] = self->output;
}
