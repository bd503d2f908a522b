/* The engine speed from the message of its controller, in eighths of a revolution a minute. */
#ifndef CAN_BUS_ENGINE_H
#define CAN_BUS_ENGINE_H

#include "can_arrivals.h"
#include "sense_reading.h"

struct bus_engine {
    struct arrivals arrivals;
    int32_t speed;
};

static inline enum frame_flaw bus_engine_flaw(uint32_t speed)
{
    if (speed >= 0xFF00)
        return FRAME_NOT_AVAILABLE;
    if (speed >= 0xFE00)
        return FRAME_ERROR_VALUE;
    return speed >= 0xFB00 ? FRAME_RESERVED : FRAME_SOUND;
}

static inline enum health bus_engine_health(enum frame_flaw flaw)
{
    switch (flaw) {
    case FRAME_DUPLICATED:
        return HEALTH_DISAGREEMENT;
    case FRAME_ERROR_VALUE:
    case FRAME_NOT_AVAILABLE:
    case FRAME_RESERVED:
    case FRAME_INCONSISTENT:
        return HEALTH_OUT_OF_RANGE;
    default:
        return HEALTH_SILENT;
    }
}

static inline struct sensed bus_engine_step(struct bus_engine *self, uint64_t data, uint8_t count)
{
    uint32_t speed = (uint16_t)(data >> 24);
    bool came = arrivals_count(&self->arrivals, count) > 0;
    struct arrival arrival = arrivals_step(&self->arrivals, came, bus_engine_flaw(speed));
    if (arrival.new_frame)
        self->speed = (int32_t)speed;
    return arrival.fresh ? sensed_good(self->speed) : sensed_flawed(bus_engine_health(arrival.flaw));
}

#endif
