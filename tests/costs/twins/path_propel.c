/* From the levers to the currents of a dual-path drive: four axes, neutral start, mix, two ramps, four current maps, a
 * pulse pickup and 32 contacts. */
#include "guard_neutral_start.h"
#include "lever_axis.h"
#include "propel_mixer.h"
#include "ramp_rate_limit.h"
#include "sense_debounce.h"
#include "sense_pulse_speed.h"
#include "valve_current_map.h"

#define CONTACTS 32u
/* Without these nothing drives: seat, bar, lock. */
#define NEEDED 7u

struct path_propel {
    struct debounce contacts[CONTACTS];
    struct pulse_speed speed;
    struct axis axis;
    struct neutral_start start;
    struct mixer mixer;
    struct rate_limit left;
    struct rate_limit right;
    struct sides ramped;
    struct current_map pump;
};

struct propel_inputs {
    int32_t drive;
    int32_t steer;
    int32_t boom;
    int32_t bucket;
    bool new_frame;
    bool ask;
    uint32_t contacts;
    uint16_t edges;
    uint32_t stamp;
};

struct propel_outputs {
    uint16_t left_forward;
    uint16_t left_reverse;
    uint16_t right_forward;
    uint16_t right_reverse;
    int32_t boom;
    int32_t bucket;
    enum start phase;
    uint32_t contacts;
    struct sensed speed;
};

const uint32_t path_propel_size = sizeof(struct path_propel);

void path_propel_new(struct path_propel *self)
{
    static const struct mixer_config mixer = {
        .law = MIX_BLENDED,
        .convention = REVERSE_PATH_FOLLOWING,
        .pivot_point = 500,
        .pivot_band = 100,
        .sensitivity = 700,
        .blend_drive = 200,
        .reverse_blend = 150,
    };
    for (uint32_t i = 0; i < CONTACTS; i++) {
        if (i < CONTACTS / 2)
            debounce_init(&self->contacts[i], 50, 20);
        else
            debounce_init(&self->contacts[i], 30, 30);
    }
    pulse_speed_init(&self->speed, 36, 200, 2500 * 8);
    axis_init(&self->axis, 80, 980, 300);
    neutral_start_init(&self->start, 100, 3);
    mixer_init(&self->mixer, &mixer);
    rate_limit_init(&self->left, 600, 300);
    rate_limit_init(&self->right, 600, 300);
    self->ramped = (struct sides){ 0, 0 };
    self->pump = (struct current_map){ .threshold = 420, .end = 1150 };
}

static inline struct propel_outputs propel_step(struct path_propel *self, const struct propel_inputs *inputs)
{
    struct propel_outputs outputs;

    uint32_t contacts = 0;
    for (uint32_t i = 0; i < CONTACTS; i++)
        contacts |= (uint32_t)debounce_step(&self->contacts[i], (inputs->contacts >> i) & 1u) << i;
    outputs.contacts = contacts;
    outputs.speed = pulse_speed_step(&self->speed, inputs->edges, inputs->stamp);

    int32_t drive = axis_step(&self->axis, inputs->drive);
    int32_t steer = axis_step(&self->axis, inputs->steer);
    outputs.boom = axis_step(&self->axis, inputs->boom);
    outputs.bucket = axis_step(&self->axis, inputs->bucket);
    const struct start_inputs start = {
        .conditions = (contacts & NEEDED) == NEEDED,
        .neutral = drive == 0 && steer == 0 && outputs.boom == 0 && outputs.bucket == 0,
        .new_frame = inputs->new_frame,
        .ask = inputs->ask,
        .ask_required = (contacts & 1u) == 0,
    };
    outputs.phase = neutral_start_step(&self->start, &start);

    struct sides target = mixer_step(&self->mixer, drive, steer, sides_mean(self->ramped));
    if (outputs.phase != START_PERMITTED)
        target = (struct sides){ 0, 0 };
    self->ramped.left = rate_limit_step(&self->left, target.left);
    self->ramped.right = rate_limit_step(&self->right, target.right);
    outputs.left_forward = current_map_step(&self->pump, self->ramped.left);
    outputs.left_reverse = current_map_step(&self->pump, -self->ramped.left);
    outputs.right_forward = current_map_step(&self->pump, self->ramped.right);
    outputs.right_reverse = current_map_step(&self->pump, -self->ramped.right);
    return outputs;
}

void path_propel_step(struct path_propel *self, const int32_t *in, int32_t *out)
{
    const struct propel_inputs inputs = {
        .drive = in[0],
        .steer = in[1],
        .boom = in[2],
        .bucket = in[3],
        .new_frame = in[4] != 0,
        .ask = in[5] != 0,
        .contacts = (uint32_t)in[6],
        .edges = (uint16_t)in[7],
        .stamp = (uint32_t)in[8],
    };
    struct propel_outputs outputs = propel_step(self, &inputs);
    out[0] = outputs.left_forward;
    out[1] = outputs.left_reverse;
    out[2] = outputs.right_forward;
    out[3] = outputs.right_reverse;
    out[4] = outputs.boom;
    out[5] = outputs.bucket;
    out[6] = outputs.phase;
    out[7] = (int32_t)(outputs.contacts & 0xFFFFu);
    out[8] = (int32_t)(outputs.contacts >> 16);
    sensed_put(outputs.speed, &out[9]);
}
