/* Straight ahead is straight. */
#ifndef PROPEL_TRIM_H
#define PROPEL_TRIM_H

#include "propel_sides.h"

struct trim {
    int32_t left;
    int32_t right;
};

static inline void trim_init(struct trim *self, int32_t left, int32_t right)
{
    self->left = ratio_permille(1000 - left);
    self->right = ratio_permille(1000 - right);
}

static inline struct sides trim_step(const struct trim *self, struct sides sides)
{
    return (struct sides){ ratio_times(sides.left, self->left), ratio_times(sides.right, self->right) };
}

#endif
