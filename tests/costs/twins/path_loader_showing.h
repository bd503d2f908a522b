/* The internal points of a period, put where an engineer can look at them. */
#ifndef PATH_LOADER_SHOWING_H
#define PATH_LOADER_SHOWING_H

#include "guard_park_brake.h"
#include "path_loader_bus.h"
#include "path_loader_panel.h"
#include "path_loader_work.h"

struct diagnostics {
    int32_t engine_speed;
    int32_t engine_speed_bus;
    int32_t engine_speed_expected;
    int32_t left_motor_speed;
    int32_t right_motor_speed;
    int32_t charge_pressure;
    int16_t oil_temperature;
    int32_t left_lever_x;
    int32_t left_lever_y;
    int32_t left_lever_wheel;
    uint8_t left_lever_state;
    int32_t right_lever_x;
    int32_t right_lever_y;
    int32_t right_lever_wheel;
    uint8_t right_lever_state;
    uint8_t lever_pattern;
    bool pattern_mismatch;

    int32_t drive_intent;
    int32_t steer_intent;
    int32_t left_intent;
    int32_t right_intent;
    int32_t boom_intent;
    int32_t bucket_intent;
    int32_t auxiliary_intent;
    bool drive_neutral;
    bool work_neutral;
    bool auxiliary_neutral;

    uint8_t self_test;
    bool permission_drive;
    bool permission_work;
    bool permission_auxiliary;
    uint8_t start_phase_drive;
    uint8_t start_phase_work;
    uint8_t start_phase_auxiliary;
    uint8_t why_not_drive;
    uint8_t why_not_work;
    uint8_t why_not_auxiliary;
    uint32_t why_not_drive_all;
    uint32_t why_not_work_all;
    uint32_t why_not_auxiliary_all;
    uint8_t stop_drive;
    uint8_t stop_work;
    uint8_t stop_auxiliary;

    int32_t mix_left;
    int32_t mix_right;
    int32_t ramp_left;
    int32_t ramp_right;
    uint8_t motion_state;
    uint8_t motion_phase;
    int32_t load_share;
    int32_t temperature_share;
    int32_t reach_share;
    uint8_t two_speed_inhibit;
    int32_t left_command;
    int32_t right_command;
    int32_t boom_command;
    int32_t bucket_command;
    int32_t auxiliary_command;
    bool engine_requested;
    int32_t engine_request;
    bool tester_drives;
    uint8_t routine_step;
    uint8_t routine_reason;
    bool float_active;
    bool continuous_active;

    bool standstill;
    uint8_t park_brake;
    uint8_t gate_drive;
    uint8_t gate_work;
    uint8_t gate_auxiliary;
    uint16_t drive_current;
    uint16_t work_current;
    uint16_t auxiliary_current;

    uint8_t active_faults;
    uint8_t blink_code;
    uint32_t faults[4];
    uint32_t periods;
};

/* Largest current of each group. */
struct group_currents {
    uint16_t drive;
    uint16_t work;
    uint16_t auxiliary;
};

static inline void show_senses(struct diagnostics *d, const struct senses *senses)
{
    d->engine_speed = sensed_or(senses->engine, 0);
    d->engine_speed_bus = sensed_or(senses->engine_bus, 0);
    d->engine_speed_expected = senses->engine_expected;
    d->left_motor_speed = sensed_or(senses->left_motor, 0);
    d->right_motor_speed = sensed_or(senses->right_motor, 0);
    d->charge_pressure = sensed_or(senses->charge_pressure, 0);
    d->oil_temperature = (int16_t)sensed_or(senses->oil_temperature, 0);
}

static inline void show_levers(struct diagnostics *d, const struct received *received, const struct wanted *wanted)
{
    d->left_lever_x = received->left.x;
    d->left_lever_y = received->left.y;
    d->left_lever_wheel = received->left.wheel;
    d->left_lever_state = (uint8_t)received->left.flaw;
    d->right_lever_x = received->right.x;
    d->right_lever_y = received->right.y;
    d->right_lever_wheel = received->right.wheel;
    d->right_lever_state = (uint8_t)received->right.flaw;
    d->lever_pattern = (uint8_t)pattern_in_force(wanted);
    d->pattern_mismatch = wanted->pattern.mismatch;
    d->drive_intent = wanted->intent.drive;
    d->steer_intent = wanted->intent.steer;
    d->left_intent = wanted->intent.left_side;
    d->right_intent = wanted->intent.right_side;
    d->boom_intent = wanted->intent.boom;
    d->bucket_intent = wanted->intent.bucket;
    d->auxiliary_intent = wanted->auxiliary;
    d->drive_neutral = wanted->drive_neutral;
    d->work_neutral = wanted->work_neutral;
    d->auxiliary_neutral = wanted->auxiliary_neutral;
}

static inline void show_permissions(struct diagnostics *d, const struct permissions *permissions,
                                    const struct gates *gates, const struct group_currents *currents)
{
    const struct permission *drive = &permissions->drive;
    const struct permission *work = &permissions->work;
    const struct permission *auxiliary = &permissions->auxiliary;
    d->permission_drive = drive->permitted;
    d->permission_work = work->permitted;
    d->permission_auxiliary = auxiliary->permitted;
    d->start_phase_drive = (uint8_t)drive->phase;
    d->start_phase_work = (uint8_t)work->phase;
    d->start_phase_auxiliary = (uint8_t)auxiliary->phase;
    d->why_not_drive = (uint8_t)first_reason(drive->why_not);
    d->why_not_work = (uint8_t)first_reason(work->why_not);
    d->why_not_auxiliary = (uint8_t)first_reason(auxiliary->why_not);
    d->why_not_drive_all = drive->why_not;
    d->why_not_work_all = work->why_not;
    d->why_not_auxiliary_all = auxiliary->why_not;
    d->stop_drive = (uint8_t)drive->stop;
    d->stop_work = (uint8_t)work->stop;
    d->stop_auxiliary = (uint8_t)auxiliary->stop;
    d->gate_drive = (uint8_t)gates->drive;
    d->gate_work = (uint8_t)gates->work;
    d->gate_auxiliary = (uint8_t)gates->auxiliary;
    d->drive_current = currents->drive;
    d->work_current = currents->work;
    d->auxiliary_current = currents->auxiliary;
}

static inline void show_commands(struct diagnostics *d, const struct drive *drive, const struct drive_command *command,
                                 const struct work_command *work, const struct engine_request *request)
{
    d->mix_left = command->mix.left;
    d->mix_right = command->mix.right;
    d->ramp_left = command->ramp.left;
    d->ramp_right = command->ramp.right;
    d->motion_state = command->state;
    d->motion_phase = command->phase;
    d->load_share = command->load_share;
    d->temperature_share = command->temperature_share;
    d->reach_share = command->reach_share;
    d->two_speed_inhibit = drive->two_speed.inhibit;
    d->left_command = command->sides.left;
    d->right_command = command->sides.right;
    d->boom_command = work->boom;
    d->bucket_command = work->bucket;
    d->auxiliary_command = work->auxiliary;
    d->float_active = work->boom_float;
    d->continuous_active = work->continuous;
    d->engine_requested = request->asked;
    d->engine_request = request->speed_asked;
}

static inline void show_faults(struct diagnostics *d, const struct fault_table *faults)
{
    d->active_faults = faults->count;
    for (uint32_t word = 0; word < FAULT_WORDS; word++)
        d->faults[word] = faults->active.words[word];
}

#endif
