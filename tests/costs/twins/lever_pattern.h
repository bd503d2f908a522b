/* Which function each lever works. */
#ifndef LEVER_PATTERN_H
#define LEVER_PATTERN_H

#include "twin.h"

enum pattern { PATTERN_NONE, PATTERN_H, PATTERN_ISO };

struct intent {
    int32_t drive;
    int32_t steer;
    int32_t left_side;
    int32_t right_side;
    int32_t boom;
    int32_t bucket;
};

static inline struct intent pattern_assign(enum pattern pattern, int32_t left_x, int32_t left_y, int32_t right_x,
                                           int32_t right_y)
{
    switch (pattern) {
    case PATTERN_H:
        return (struct intent){ .left_side = left_y, .right_side = right_y, .boom = -left_x, .bucket = right_x };
    case PATTERN_ISO:
        return (struct intent){ .drive = left_y, .steer = left_x, .boom = -right_y, .bucket = right_x };
    default:
        return (struct intent){ 0 };
    }
}

#endif
