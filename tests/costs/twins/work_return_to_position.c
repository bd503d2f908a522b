/* Brings a cylinder to a set position and stops there. */
#include "twin.h"

enum return_mode { RETURN_LEVER, RETURN_ASKED, RETURN_RETURNING };

struct work_return_to_position {
    int32_t position;
    int32_t window;
    struct divisor slowing;
    int32_t speed;
    int32_t end_speed;
    int32_t neutral;
    uint32_t time_out;
    int32_t ahead; /* the direction in which it set out */
    uint32_t ran_for;
    uint8_t mode;
    bool let_go_first; /* the lever is without effect until it was let go of */
};

struct return_inputs {
    bool permitted;
    bool request;
    int32_t lever;
    struct reading position;
};

const uint32_t work_return_to_position_size = sizeof(struct work_return_to_position);

void work_return_to_position_new(struct work_return_to_position *self)
{
    self->position = ratio_permille(300);
    self->window = ratio_permille(10);
    self->slowing = divisor_of(ratio_permille(150) - self->window);
    self->speed = ratio_permille(800);
    self->end_speed = ratio_permille(150);
    self->neutral = ratio_permille(50);
    self->time_out = steps_of(8000, TICK_US);
    self->ahead = 0;
    self->ran_for = 0;
    self->mode = RETURN_LEVER;
    self->let_go_first = false;
}

static void end(struct work_return_to_position *self)
{
    self->mode = RETURN_LEVER;
    self->let_go_first = true;
}

static void set_out(struct work_return_to_position *self, bool neutral, struct reading position)
{
    self->ran_for = 0;
    if (position.valid) {
        self->ahead = ratio_minus(self->position, position.value);
        self->mode = neutral ? RETURN_RETURNING : RETURN_ASKED;
    } else {
        end(self);
    }
}

static int32_t on_the_way(struct work_return_to_position *self, struct reading position)
{
    self->ran_for++;
    if (position.valid && self->ran_for <= self->time_out) {
        int32_t distance = ratio_minus(self->position, position.value);
        int32_t magnitude = magnitude_32(distance);
        bool ahead = (distance > 0 && self->ahead > 0) || (distance < 0 && self->ahead < 0);
        if (magnitude > self->window && ahead) {
            int32_t beyond = divisor_share(&self->slowing, magnitude - self->window);
            int32_t command = self->end_speed + ratio_times(self->speed - self->end_speed, beyond);
            return distance < 0 ? -command : command;
        }
    }
    end(self);
    return 0;
}

static int32_t return_step(struct work_return_to_position *self, const struct return_inputs *inputs)
{
    bool neutral = magnitude_32(inputs->lever) <= self->neutral;
    if (neutral)
        self->let_go_first = false;
    if (self->mode == RETURN_LEVER) {
        if (inputs->request && inputs->permitted)
            set_out(self, neutral, inputs->position);
    } else if (inputs->request || !inputs->permitted) {
        end(self);
    } else if (neutral) {
        self->mode = RETURN_RETURNING;
    } else if (self->mode == RETURN_RETURNING) {
        self->mode = RETURN_LEVER;
    }
    if (self->mode != RETURN_LEVER)
        return on_the_way(self, inputs->position);
    return inputs->permitted && !self->let_go_first ? inputs->lever : 0;
}

void work_return_to_position_step(struct work_return_to_position *self, const int32_t *in, int32_t *out)
{
    const struct return_inputs inputs = { in[0] != 0, in[1] != 0, in[2], { in[3] != 0, in[4] } };
    out[0] = return_step(self, &inputs);
    out[1] = self->mode != RETURN_LEVER;
}
