/* A value and whether it may be believed. */
#ifndef SENSE_READING_H
#define SENSE_READING_H

#include "twin.h"

enum health {
    HEALTH_UNKNOWN,
    HEALTH_GOOD,
    HEALTH_WIRE_BREAK,
    HEALTH_SHORT_CIRCUIT,
    HEALTH_OUT_OF_RANGE,
    HEALTH_SILENT,
    HEALTH_TOO_FAST,
    HEALTH_DISAGREEMENT,
    HEALTH_SENSOR_SUPPLY,
};

/* The value is 0 where the health is not good. */
struct sensed {
    enum health health;
    int32_t value;
};

static inline struct sensed sensed_good(int32_t value) { return (struct sensed){ HEALTH_GOOD, value }; }

static inline struct sensed sensed_flawed(enum health health) { return (struct sensed){ health, 0 }; }

static inline struct sensed sensed_from(const int32_t *in)
{
    return (struct sensed){ (enum health)in[0], in[1] };
}

static inline void sensed_put(struct sensed sensed, int32_t *out)
{
    out[0] = sensed.health;
    out[1] = sensed.value;
}

#endif
