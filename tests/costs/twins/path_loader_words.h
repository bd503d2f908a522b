/* Where the loader's inputs and outputs lie: a word for each signal, two where it has eight bytes, low one first. */
#ifndef PATH_LOADER_WORDS_H
#define PATH_LOADER_WORDS_H

#include "twin.h"

enum input {
    IN_SUPPLY,
    IN_READ_BACK,
    IN_SENSOR_SUPPLY,
    IN_KEY,
    IN_LOCK_RELEASED,
    IN_SEAT,
    IN_BAR_DOWN,
    IN_BRAKE_OFF,
    IN_STOP_FIRST,
    IN_STOP_SECOND,
    IN_ENABLE,
    IN_PATTERN_H,
    IN_PATTERN_ISO,
    IN_PRESSURE,
    IN_TEMPERATURE,
    IN_THROTTLE,
    IN_ENGINE_EDGES,
    IN_ENGINE_STAMP,
    IN_LEFT_EDGES,
    IN_LEFT_STAMP,
    IN_LEFT_REVERSE,
    IN_RIGHT_EDGES,
    IN_RIGHT_STAMP,
    IN_RIGHT_REVERSE,
    IN_LEFT_BASIC,
    IN_LEFT_BASIC_COUNT = IN_LEFT_BASIC + 2,
    IN_LEFT_EXTENDED,
    IN_LEFT_EXTENDED_COUNT = IN_LEFT_EXTENDED + 2,
    IN_RIGHT_BASIC,
    IN_RIGHT_BASIC_COUNT = IN_RIGHT_BASIC + 2,
    IN_RIGHT_EXTENDED,
    IN_RIGHT_EXTENDED_COUNT = IN_RIGHT_EXTENDED + 2,
    IN_ENGINE_FRAME,
    IN_ENGINE_FRAME_COUNT = IN_ENGINE_FRAME + 2,
    IN_BUS, /* head and data of each frame, two words each */
    IN_BUS_LOST = IN_BUS + 8 * 4,
    IN_BUS_OFF,
    IN_ENTROPY,
    IN_WORK_REPORT,
    IN_WORK_NUMBER,
    IN_WORK_ITEM,
    IN_MISSED = IN_WORK_ITEM + 2,
    IN_REPORTS, /* of each coil as below */
};

enum report { REPORT_CURRENT, REPORT_DUTY, REPORT_REACHABLE, REPORT_RESISTANCE, REPORT_CONDITIONS, REPORT_WORDS };

enum output {
    OUT_COIL_SUPPLY,
    OUT_PARK_BRAKE,
    OUT_TWO_SPEED,
    OUT_START_PERMIT,
    OUT_REVERSE_ALARM,
    OUT_STATUS_LAMP,
    OUT_PATTERN_H,
    OUT_PATTERN_ISO,
    OUT_BUS, /* head and data of each frame, two words each */
    OUT_WORK_KIND = OUT_BUS + 4 * 4,
    OUT_WORK_NUMBER,
    OUT_WORK_PLACE,
    OUT_WORK_ITEM,
    OUT_CURRENTS = OUT_WORK_ITEM + 2,
    OUT_COIL_VOLTAGE = OUT_CURRENTS + 11,
};

enum coil {
    LEFT_PUMP_FORWARD,
    LEFT_PUMP_REVERSE,
    RIGHT_PUMP_FORWARD,
    RIGHT_PUMP_REVERSE,
    BOOM_RAISE,
    BOOM_LOWER,
    BOOM_FLOAT,
    BUCKET_CURL,
    BUCKET_DUMP,
    AUXILIARY_A,
    AUXILIARY_B,
    COILS,
};

/* The coils of the drive come first, those of the auxiliary last. */
#define DRIVE_COILS 4u
#define WORK_COILS 9u

static inline uint64_t double_word(const int32_t *in)
{
    return (uint32_t)in[0] | (uint64_t)(uint32_t)in[1] << 32;
}

static inline uint16_t report_current(const int32_t *in, uint32_t coil)
{
    return (uint16_t)in[IN_REPORTS + coil * REPORT_WORDS + REPORT_CURRENT];
}

static inline uint32_t report_conditions(const int32_t *in, uint32_t coil)
{
    return (uint32_t)in[IN_REPORTS + coil * REPORT_WORDS + REPORT_CONDITIONS];
}

#endif
