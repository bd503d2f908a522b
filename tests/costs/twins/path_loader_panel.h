/* What the operator hears and sees, and the on-off outputs. */
#ifndef PATH_LOADER_PANEL_H
#define PATH_LOADER_PANEL_H

#include "fault_blink_code.h"
#include "path_loader_permission.h"
#include "timing_flasher.h"

struct panel_inputs {
    bool coil_supply;
    bool brake_released;
    bool two_speed;
    bool crank;
    bool permitted;
    bool pattern_mismatch;
    uint8_t fault_code;
    enum pattern pattern;
    uint32_t why_not;
    int32_t travel;
    int32_t left_motor;
    int32_t right_motor;
};

struct panel {
    struct blink_code blink;
    struct flasher pattern_lamp;
    int32_t reverse_travel;
    uint8_t code; /* on the lamp, 0 when it is steady */
};

static inline void panel_init(struct panel *self)
{
    blink_code_init(&self->blink, 250, 250, 1500);
    flasher_init(&self->pattern_lamp, 500);
    self->reverse_travel = ratio_permille(-10);
    self->code = 0;
}

static inline uint8_t panel_code(const struct panel_inputs *inputs)
{
    if (inputs->fault_code != 0)
        return inputs->fault_code;
    return inputs->permitted ? 0 : (uint8_t)(80 + first_reason(inputs->why_not));
}

static inline void panel_step(struct panel *self, const struct panel_inputs *inputs, int32_t *out)
{
    self->code = panel_code(inputs);
    bool pattern_lamp = flasher_step(&self->pattern_lamp, inputs->pattern_mismatch);
    /* A turn while rolling back has one side slow or forward: the mean is what counts. */
    int32_t rolling = inputs->left_motor + inputs->right_motor;
    out[OUT_COIL_SUPPLY] = inputs->coil_supply;
    out[OUT_PARK_BRAKE] = inputs->brake_released && inputs->coil_supply;
    out[OUT_TWO_SPEED] = inputs->two_speed && inputs->coil_supply;
    out[OUT_START_PERMIT] = inputs->crank;
    out[OUT_REVERSE_ALARM] = inputs->travel < self->reverse_travel || rolling < -45 * 8;
    out[OUT_STATUS_LAMP] = self->code == 0 ? inputs->permitted : blink_code_step(&self->blink, self->code);
    out[OUT_PATTERN_H] = pattern_lamp && inputs->pattern == PATTERN_H;
    out[OUT_PATTERN_ISO] = pattern_lamp && inputs->pattern == PATTERN_ISO;
}

#endif
