/* From two levers on the bus to what the operator wants. */
#ifndef PATH_LOADER_LEVERS_H
#define PATH_LOADER_LEVERS_H

#include "can_bus_lever.h"
#include "guard_pattern_latch.h"
#include "lever_axis.h"
#include "lever_pattern.h"
#include "path_loader_sensing.h"

/* A lever axis by its own ends and centre. */
struct lever_travel {
    int32_t low;
    int32_t centre;
    int32_t high;
    int32_t overtravel;
    struct divisor negative; /* travel to either side of the centre */
    struct divisor positive;
};

enum lever_axis { AXIS_LEFT_X, AXIS_LEFT_Y, AXIS_RIGHT_X, AXIS_RIGHT_Y, AXIS_RIGHT_WHEEL, LEVER_AXES };

struct received {
    struct lever_reading left;
    struct lever_reading right;
};

struct wanted {
    struct intent intent;
    int32_t auxiliary;
    struct pattern_state pattern;
    bool drive_neutral;
    bool work_neutral;
    bool auxiliary_neutral;
    bool drive_frame;
    bool work_frame;
    bool auxiliary_frame;
    bool two_speed_pressed;
    bool float_pressed;
    bool continuous_pressed;
};

struct levers {
    struct bus_lever left;
    struct bus_lever right;
    struct lever_travel travels[LEVER_AXES];
    struct axis axis;
    struct pattern_latch pattern;
    struct edge two_speed;
    struct edge boom_float;
    struct edge continuous;
    bool left_heard;
    bool right_heard;
};

static inline void levers_init(struct levers *self)
{
    bus_lever_init(&self->left, 20, 2000, MOST_FRAMES, 50);
    bus_lever_init(&self->right, 20, 2000, MOST_FRAMES, 50);
    for (uint32_t i = 0; i < LEVER_AXES; i++) {
        /* The lever watches its own sensor and says so: beyond an end is at the end. */
        self->travels[i] = (struct lever_travel){
            .low = -RATIO_ONE,
            .high = RATIO_ONE,
            .overtravel = RATIO_ONE,
            .negative = divisor_of(RATIO_ONE),
            .positive = divisor_of(RATIO_ONE),
        };
    }
    axis_init(&self->axis, 60, 980, 300);
    pattern_latch_init(&self->pattern, 200);
    self->two_speed.before = true;
    self->boom_float.before = true;
    self->continuous.before = true;
    self->left_heard = false;
    self->right_heard = false;
}

static inline void levers_receive(struct levers *self, const int32_t *in, struct received *out)
{
    *out = (struct received){ 0 };
    bus_lever_basic(&self->left, &in[IN_LEFT_BASIC], (uint8_t)in[IN_LEFT_BASIC_COUNT], &out->left);
    bus_lever_extended(&self->left, &in[IN_LEFT_EXTENDED], (uint8_t)in[IN_LEFT_EXTENDED_COUNT], &out->left);
    bus_lever_basic(&self->right, &in[IN_RIGHT_BASIC], (uint8_t)in[IN_RIGHT_BASIC_COUNT], &out->right);
    bus_lever_extended(&self->right, &in[IN_RIGHT_EXTENDED], (uint8_t)in[IN_RIGHT_EXTENDED_COUNT], &out->right);
}

static inline int32_t lever_shaped(const struct levers *self, enum lever_axis which, int32_t signal)
{
    const struct lever_travel *travel = &self->travels[which];
    if (travel->low - signal > travel->overtravel || signal - travel->high > travel->overtravel)
        return 0;
    int32_t deflection = signal - travel->centre;
    return axis_step(&self->axis, divisor_share(deflection < 0 ? &travel->negative : &travel->positive, deflection));
}

/* Counts a frame of a pair of levers when each has sent one. */
static inline bool both_heard(struct levers *self, bool left, bool right)
{
    self->left_heard |= left;
    self->right_heard |= right;
    bool both = self->left_heard && self->right_heard;
    if (both) {
        self->left_heard = false;
        self->right_heard = false;
    }
    return both;
}

static inline bool lever_button(const struct lever_reading *lever, uint32_t button)
{
    return lever->fresh && (lever->buttons & button) != 0;
}

static inline void levers_want(struct levers *self, const struct received *received, struct sensed rocker, bool at_rest,
                               struct wanted *out)
{
    const struct lever_reading *left = &received->left;
    const struct lever_reading *right = &received->right;
    bool both_neutral = left->neutral && right->neutral;
    const struct choice asked = {
        .given = is_good(rocker),
        .pattern = rocker.value != 0 ? PATTERN_ISO : PATTERN_H,
    };
    out->pattern = pattern_latch_step(&self->pattern, asked, at_rest && both_neutral);
    enum pattern pattern = out->pattern.active.given ? (enum pattern)out->pattern.active.pattern : PATTERN_NONE;
    bool both_frame = both_heard(self, left->new_frame, right->new_frame);
    bool iso = pattern == PATTERN_ISO;
    out->intent = pattern_assign(pattern, lever_shaped(self, AXIS_LEFT_X, left->x),
                                 lever_shaped(self, AXIS_LEFT_Y, left->y), lever_shaped(self, AXIS_RIGHT_X, right->x),
                                 lever_shaped(self, AXIS_RIGHT_Y, right->y));
    out->auxiliary = lever_shaped(self, AXIS_RIGHT_WHEEL, right->wheel);
    out->drive_neutral = iso ? left->neutral : both_neutral;
    out->work_neutral = iso ? right->neutral : both_neutral;
    out->auxiliary_neutral = right->wheel_neutral;
    out->drive_frame = iso ? left->new_frame : both_frame;
    out->work_frame = iso ? right->new_frame : both_frame;
    out->auxiliary_frame = right->new_wheel_frame;
    out->two_speed_pressed = edge_step(&self->two_speed, lever_button(left, BUTTON_1));
    out->float_pressed = edge_step(&self->boom_float, lever_button(right, BUTTON_1));
    out->continuous_pressed = edge_step(&self->continuous, lever_button(right, BUTTON_2));
}

/* True when every lever is heard and neutral. */
static inline bool all_neutral(const struct wanted *wanted)
{
    return wanted->drive_neutral && wanted->work_neutral && wanted->auxiliary_neutral;
}

static inline enum pattern pattern_in_force(const struct wanted *wanted)
{
    return wanted->pattern.active.given ? (enum pattern)wanted->pattern.active.pattern : PATTERN_NONE;
}

#endif
