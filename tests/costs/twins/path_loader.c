/* The loader's whole control step, from wires and bus to set-points, on-off outputs and frames. Read top to bottom it
 * is the drawing of the data flow; each stage has its header.
 *
 * Left out is what cannot come in this subject, in which nobody sends to the station on the bus and the board answers
 * no order: another unit that contests the address; requests of groups; frames of the diagnostic link, its buffers and
 * its services (sessions, access, staged parameters, clearing of faults, routines, outputs that a tester drives, and
 * the standing of the machine that they ask for); the fault log out of flash, which is asked for and never comes; and
 * the set of parameters, which is resolved into the blocks and not kept. What of these counts time, stirs bits or
 * looks in every period whether it is on is there. Diagnostics, fault log and reason log are no output and are kept.
 */
#include "guard_standstill.h"
#include "path_loader_showing.h"

/* Largest reading of a coil that carries nothing: offset of the measurement. */
#define NO_CURRENT 20

enum progress { PROGRESS_IDLE, PROGRESS_RUNNING };
enum controlled { CONTROLLED_NOTHING, CONTROLLED_STATUS_LAMP = 0x0401, CONTROLLED_REVERSE_ALARM = 0x0402 };

/* What a tester drives and measures, at rest. */
struct service_motion {
    uint16_t controlled;
    bool control_on;
    bool calibrating;
    uint8_t progress;
    uint8_t step;
    uint8_t reason;
};

struct path_loader {
    struct sensing sensing;
    struct levers levers;
    struct start_up_test test;
    struct monitoring monitoring;
    struct fault_table faults;
    struct fault_log log;
    struct guard guard;
    struct reason_log reason_log;
    struct drive drive;
    struct engine_request engine_request;
    struct work work;
    struct valves valves;
    struct standstill standstill;
    struct park_brake brake;
    struct panel panel;
    struct service_motion motion;
    struct bus bus;
    struct last_period last;
    struct diagnostics diagnostics;
    uint32_t periods;
    bool at_rest;
};

const uint32_t path_loader_size = sizeof(struct path_loader);

void path_loader_new(struct path_loader *self)
{
    *self = (struct path_loader){ 0 };
    sensing_init(&self->sensing);
    levers_init(&self->levers);
    cut_off_init(&self->test.cut_off, 60, 3000, 6000);
    test_pulse_init(&self->test.pulse, 200, 80, 500, TICK_US);
    self->test.decay_steps = steps_of(50, TICK_US);
    self->test.state = START_UP_CUT_OFF;
    monitoring_init(&self->monitoring);
    guard_init(&self->guard);
    self->reason_log.look_back_steps = steps_of(30000, TICK_US);
    drive_init(&self->drive);
    engine_request_init(&self->engine_request);
    work_init(&self->work);
    valves_init(&self->valves);
    standstill_init(&self->standstill, 15 * 8, 300);
    park_brake_init(&self->brake, 3000);
    panel_init(&self->panel);
    bus_init(&self->bus);
}

static inline void loader_test(struct path_loader *self, const int32_t *in, const struct senses *senses)
{
    if (self->test.state == START_UP_DONE)
        return;
    /* A test of coils whose supply a fault has cut blames sound coils and the relay; one that has failed says why. */
    bool cut = (self->faults.reactions & CUT_SUPPLY) != 0 && self->test.state != START_UP_FAILED;
    bool ready = senses->key_on && !senses->emergency_stop && !cut && supply_good(&self->monitoring, senses);
    uint16_t currents[COILS];
    for (uint32_t coil = 0; coil < COILS; coil++)
        currents[coil] = report_current(in, coil);
    start_up_step(&self->test, ready, (uint16_t)senses->read_back, currents);
}

static inline void loader_permit(struct path_loader *self, const struct senses *senses, const struct wanted *wanted,
                                 struct permissions *permissions)
{
    bool supply = supply_good(&self->monitoring, senses);
    bool charge = charge_good(&self->monitoring, senses);
    const struct seen seen = { senses->emergency_stop, !supply, !charge, !wanted->pattern.active.given };
    const struct circumstances about = {
        .unexplained = unexplained(&self->faults, &seen),
        .tested = self->test.state == START_UP_DONE,
        .supply_good = supply,
        .charge_good = charge,
        .calibrating = self->motion.calibrating,
    };
    guard_step(&self->guard, senses, wanted, &about, permissions);
}

static inline void loader_drive(struct path_loader *self, const struct senses *senses, const struct wanted *wanted,
                                bool permitted, struct drive_command *drive)
{
    const struct drive_inputs inputs = {
        .intent = &wanted->intent,
        .pattern = pattern_in_force(wanted),
        .permitted = permitted,
        .current_unreachable = fault_table_has(&self->faults, FAULT_DRIVE_CURRENT_UNREACHABLE),
        .limited = (self->faults.reactions & LIMIT_DRIVE) != 0,
        .two_speed_pressed = wanted->two_speed_pressed,
        .at_rest = self->at_rest,
    };
    drive_step(&self->drive, &inputs, senses, drive);
    engine_request_step(&self->engine_request, permitted, senses, drive->load_share);
}

static inline void loader_gates(struct path_loader *self, const struct permissions *permissions,
                                const struct group_currents *measured, struct gates *gates)
{
    gates->drive = permission_group_gate(&self->guard.drive, &permissions->drive, drive_at_zero(&self->drive),
                                         measured->drive);
    gates->work = permission_group_gate(&self->guard.work, &permissions->work, work_at_zero(&self->work),
                                        measured->work);
    gates->auxiliary = permission_group_gate(&self->guard.auxiliary, &permissions->auxiliary,
                                             auxiliary_at_zero(&self->work), measured->auxiliary);
    if (gates->drive != GATE_OPEN)
        drive_reset(&self->drive);
    if (gates->work != GATE_OPEN)
        work_reset(&self->work);
    if (gates->auxiliary != GATE_OPEN)
        auxiliary_reset(&self->work);
}

/* Finds the machine at rest, and releases or applies the park brake. */
static inline bool loader_rest(struct path_loader *self, const struct senses *senses, bool permitted,
                               struct sides sides, uint16_t current)
{
    bool commands_zero = drive_at_zero(&self->drive) && sides.left == 0 && sides.right == 0 && current <= NO_CURRENT;
    self->at_rest = standstill_step(&self->standstill, commands_zero, senses->left_motor, senses->right_motor);
    park_brake_step(&self->brake, permitted, !charge_lost(&self->monitoring, senses), self->at_rest);
    /* Its valve is fed by the coil supply. */
    if (!self->last.coil_supply)
        park_brake_reset(&self->brake);
    return self->brake.state != BRAKE_APPLIED;
}

static inline void loader_outputs(struct path_loader *self, const struct senses *senses,
                                  const struct received *received, const struct wanted *wanted,
                                  const struct permissions *permissions, const struct drive_command *drive,
                                  bool brake_released, int32_t *out)
{
    bool cut = (self->faults.reactions & CUT_SUPPLY) != 0 || senses->emergency_stop || !senses->key_on;
    const struct panel_inputs inputs = {
        .coil_supply = cut_off_supply_on(&self->test.cut_off) && !cut,
        .brake_released = brake_released,
        .two_speed = drive->two_speed,
        .crank = senses->key_on && !senses->emergency_stop && senses->engine_stands && received->left.neutral &&
                 received->right.neutral && received->right.wheel_neutral && !brake_released,
        .permitted = permissions->drive.permitted && permissions->work.permitted,
        .pattern_mismatch = wanted->pattern.mismatch,
        .fault_code = self->faults.blink,
        .pattern = pattern_in_force(wanted),
        .why_not = permissions->drive.why_not | permissions->work.why_not,
        .travel = sides_mean(drive->sides),
        .left_motor = sensed_or(senses->left_motor, 0),
        .right_motor = sensed_or(senses->right_motor, 0),
    };
    panel_step(&self->panel, &inputs, out);
}

static inline void loader_remember(struct path_loader *self, const struct senses *senses, const struct gates *gates,
                                   struct sides sides, const uint16_t *currents, int32_t *out)
{
    self->last.coil_supply = out[OUT_COIL_SUPPLY] != 0;
    self->last.start_permit = out[OUT_START_PERMIT] != 0;
    self->last.gates = *gates;
    self->last.sides = sides;
    for (uint32_t coil = 0; coil < COILS; coil++) {
        self->last.asked[coil] = currents[coil];
        out[OUT_CURRENTS + coil] = currents[coil];
    }
    out[OUT_COIL_VOLTAGE] = senses->coil_supply;
    if (self->periods < UINT32_MAX)
        self->periods++;
}

static inline void loader_show_state(struct path_loader *self)
{
    struct diagnostics *d = &self->diagnostics;
    d->self_test = self->test.state;
    d->standstill = self->at_rest;
    d->park_brake = self->brake.state;
    d->blink_code = self->panel.code;
    d->tester_drives = self->motion.progress == PROGRESS_RUNNING;
    d->routine_step = self->motion.step;
    d->routine_reason = self->motion.reason;
    d->periods = self->periods;
    show_faults(d, &self->faults);
}

/* Puts the output that a tester drives in place of the machine's own. */
static inline void loader_override(const struct service_motion *motion, int32_t *out)
{
    if (motion->controlled == CONTROLLED_STATUS_LAMP)
        out[OUT_STATUS_LAMP] = motion->control_on;
    else if (motion->controlled == CONTROLLED_REVERSE_ALARM)
        out[OUT_REVERSE_ALARM] = motion->control_on;
}

void path_loader_step(struct path_loader *self, const int32_t *in, int32_t *out)
{
    struct senses senses;
    struct received received;
    struct wanted wanted;
    sensing_step(&self->sensing, in, &senses);
    levers_receive(&self->levers, in, &received);
    levers_want(&self->levers, &received, senses.rocker, self->at_rest, &wanted);
    loader_test(self, in, &senses);

    struct fault_set conditions;
    monitoring_step(&self->monitoring, in, &senses, &received, &self->test, &self->last, &conditions);
    fault_table_step(&self->faults, &conditions, all_neutral(&wanted));
    fault_log_step(&self->log, &self->faults.active, self->periods);

    struct permissions permissions;
    loader_permit(self, &senses, &wanted, &permissions);
    struct drive_command drive;
    loader_drive(self, &senses, &wanted, permissions.drive.permitted, &drive);
    struct work_command work;
    work_step(&self->work, &wanted, &permissions, &work);
    uint16_t currents[COILS];
    valves_step(&self->valves, drive.sides, &work, currents);

    bool under_test = self->test.state != START_UP_DONE;
    struct group_currents measured = { 0, 0, 0 };
    if (!under_test) {
        measured.drive = largest_current(in, 0, DRIVE_COILS);
        measured.work = largest_current(in, DRIVE_COILS, WORK_COILS);
        measured.auxiliary = largest_current(in, WORK_COILS, COILS);
    }
    struct gates gates;
    loader_gates(self, &permissions, &measured, &gates);
    if (under_test) {
        for (uint32_t coil = 0; coil < COILS; coil++)
            currents[coil] = start_up_set_point(&self->test, coil);
    } else {
        gate_currents(&gates, currents);
    }

    bool brake_released = loader_rest(self, &senses, permissions.drive.permitted, drive.sides, measured.drive);
    loader_outputs(self, &senses, &received, &wanted, &permissions, &drive, brake_released, out);
    loader_remember(self, &senses, &gates, drive.sides, currents, out);
    bool permitted =
        permissions.drive.permitted || permissions.work.permitted || permissions.auxiliary.permitted;
    reason_log_step(&self->reason_log, &permissions, permitted);

    struct diagnostics *d = &self->diagnostics;
    show_senses(d, &senses);
    show_levers(d, &received, &wanted);
    show_permissions(d, &permissions, &gates, &measured);
    show_commands(d, &self->drive, &drive, &work, &self->engine_request);
    loader_show_state(self);
    loader_override(&self->motion, out);
    bus_step(&self->bus, &self->engine_request, in, &self->faults, &self->log, out);
}
