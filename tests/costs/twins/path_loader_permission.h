/* Who may move: conditions, neutral start, stops and last gates of the three groups; why not, remembered for 30 s. */
#ifndef PATH_LOADER_PERMISSION_H
#define PATH_LOADER_PERMISSION_H

#include "guard_permission_group.h"
#include "path_loader_monitoring.h"

/* In the order in which the operator is told; in a set each is a bit. */
enum reason {
    REASON_NOTHING,
    REASON_KEY_OFF,
    REASON_EMERGENCY_STOP,
    REASON_SUPPLY_CUT,
    REASON_SELF_TEST,
    REASON_FAULT,
    REASON_SUPPLY_LOW,
    REASON_ENGINE_STOPPED,
    REASON_LOCKED,
    REASON_BAR_UP,
    REASON_SEAT_OPEN,
    REASON_BRAKE_ON,
    REASON_CHARGE_LOW,
    REASON_LEVER_CALIBRATION,
    REASON_NO_PATTERN,
    REASON_PATTERN_REQUEST,
    REASON_STOPPING,
    REASON_NOT_NEUTRAL,
    REASON_NOT_ASKED,
};

#define REASON_BIT(reason) (1u << (reason))
#define IMMEDIATE_FOR_DRIVE \
    (REASON_BIT(REASON_EMERGENCY_STOP) | REASON_BIT(REASON_KEY_OFF) | REASON_BIT(REASON_SUPPLY_CUT))
#define IMMEDIATE_FOR_WORK (IMMEDIATE_FOR_DRIVE | REASON_BIT(REASON_BAR_UP) | REASON_BIT(REASON_SEAT_OPEN))

struct permissions {
    struct permission drive;
    struct permission work;
    struct permission auxiliary;
};

/* What the guard looks at beside senses and levers. */
struct circumstances {
    uint32_t unexplained; /* reactions of the active faults that no other reason tells already */
    bool tested;
    bool supply_good;
    bool charge_good;
    bool calibrating;
};

struct guard {
    struct permission_group drive;
    struct permission_group work;
    struct permission_group auxiliary;
    bool started;
};

static inline void guard_group_init(struct permission_group *self)
{
    neutral_start_init(&self->start, 100, 3);
    last_gate_init(&self->gate, 50, 150);
    permission_group_reasons(self, REASON_BIT(REASON_STOPPING), REASON_BIT(REASON_NOT_NEUTRAL),
                             REASON_BIT(REASON_NOT_ASKED));
}

static inline void guard_init(struct guard *self)
{
    guard_group_init(&self->drive);
    guard_group_init(&self->work);
    guard_group_init(&self->auxiliary);
    self->started = false;
}

/* The first reason of a set. */
static inline enum reason first_reason(uint32_t reasons)
{
    return reasons == 0 ? REASON_NOTHING : (enum reason)__builtin_ctz(reasons);
}

/* Causes that the guard sees for itself and tells by their own name. */
struct seen {
    bool emergency_stop;
    bool supply_low;
    bool charge_low;
    bool no_pattern;
};

static inline bool seen_tells(const struct seen *seen, uint32_t place)
{
    switch (place) {
    case FAULT_EMERGENCY_STOP:
        return seen->emergency_stop;
    case FAULT_SUPPLY_LOW:
        return seen->supply_low;
    case FAULT_CHARGE_PRESSURE_LOW:
    case FAULT_CHARGE_PRESSURE_SENSOR:
    case FAULT_SENSOR_SUPPLY:
        return seen->charge_low;
    case FAULT_PATTERN_ROCKER:
        return seen->no_pattern;
    default:
        return false;
    }
}

/* Reactions of the active faults whose cause is not told already: one cause is one reason why not. */
static inline uint32_t unexplained(const struct fault_table *faults, const struct seen *seen)
{
    uint32_t reactions = 0;
    for (uint32_t word = 0; word < FAULT_WORDS; word++) {
        for (uint32_t rest = faults->active.words[word]; rest != 0;) {
            uint32_t place = word * 32 + lowest_bit(&rest);
            if (!seen_tells(seen, place))
                reactions |= fault_rules[place].reactions;
        }
    }
    return reactions;
}

static inline uint32_t reason_if(enum reason reason, bool holds) { return (uint32_t)holds << reason; }

static inline uint32_t common_reasons(const struct senses *senses, const struct wanted *wanted,
                                      const struct circumstances *about)
{
    return reason_if(REASON_KEY_OFF, !senses->key_on) | reason_if(REASON_EMERGENCY_STOP, senses->emergency_stop) |
           reason_if(REASON_SUPPLY_CUT, (about->unexplained & CUT_SUPPLY) != 0) |
           reason_if(REASON_SELF_TEST, !about->tested) | reason_if(REASON_SUPPLY_LOW, !about->supply_good) |
           reason_if(REASON_ENGINE_STOPPED, !senses->engine_runs) |
           reason_if(REASON_LOCKED, !senses->lock_released) | reason_if(REASON_BAR_UP, !senses->bar_down) |
           reason_if(REASON_SEAT_OPEN, !senses->seat_occupied) |
           reason_if(REASON_LEVER_CALIBRATION, about->calibrating) |
           reason_if(REASON_NO_PATTERN, !wanted->pattern.active.given) |
           reason_if(REASON_PATTERN_REQUEST, wanted->pattern.changed || wanted->pattern.dropped);
}

static inline void guard_step(struct guard *self, const struct senses *senses, const struct wanted *wanted,
                              const struct circumstances *about, struct permissions *out)
{
    uint32_t common = common_reasons(senses, wanted, about);
    uint32_t drive_only = reason_if(REASON_BRAKE_ON, !senses->brake_off) |
                          reason_if(REASON_CHARGE_LOW, !about->charge_good) |
                          reason_if(REASON_FAULT, (about->unexplained & STOP_DRIVE) != 0);
    uint32_t work_only = reason_if(REASON_FAULT, (about->unexplained & STOP_WORK) != 0);
    uint32_t auxiliary_only = reason_if(REASON_FAULT, (about->unexplained & STOP_AUXILIARY) != 0);
    /* After power-up, key and emergency stop, whenever seat or bar were open, and for a new pattern. */
    bool ask_required = !self->started || !senses->key_on || !senses->seat_occupied || !senses->bar_down ||
                        senses->emergency_stop || about->calibrating || !wanted->pattern.active.given;
    self->started = true;

    struct group_inputs inputs = {
        .reasons = common | drive_only,
        .immediate = IMMEDIATE_FOR_DRIVE,
        .start = {
            .neutral = wanted->drive_neutral,
            .new_frame = wanted->drive_frame,
            .ask = senses->ask,
            .ask_required = ask_required,
        },
    };
    out->drive = permission_group_step(&self->drive, &inputs);
    inputs.reasons = common | work_only;
    inputs.immediate = IMMEDIATE_FOR_WORK;
    inputs.start.neutral = wanted->work_neutral;
    inputs.start.new_frame = wanted->work_frame;
    out->work = permission_group_step(&self->work, &inputs);
    inputs.reasons = common | auxiliary_only;
    inputs.start.neutral = wanted->auxiliary_neutral;
    inputs.start.new_frame = wanted->auxiliary_frame;
    out->auxiliary = permission_group_step(&self->auxiliary, &inputs);
}

#define REASON_GROUPS 3
#define REASON_ENTRIES 32

struct reason_entry {
    uint32_t period;
    uint32_t why_not[REASON_GROUPS];
};

struct reason_log {
    struct reason_entry entries[REASON_ENTRIES];
    uint32_t look_back_steps;
    uint32_t now;
    uint32_t last[REASON_GROUPS];
    uint8_t oldest;
    uint8_t count;
    bool frozen;
    bool was_permitted;
};

static inline void reason_log_drop_oldest(struct reason_log *self)
{
    self->oldest = (uint8_t)((self->oldest + 1) % REASON_ENTRIES);
    self->count--;
}

static inline void reason_log_step(struct reason_log *self, const struct permissions *permissions, bool permitted)
{
    const uint32_t drive = permissions->drive.why_not;
    const uint32_t work = permissions->work.why_not;
    const uint32_t auxiliary = permissions->auxiliary.why_not;
    if (permitted && !self->was_permitted)
        self->frozen = false;
    if (!self->frozen) {
        if (self->count > 0 && self->now - self->entries[self->oldest].period > self->look_back_steps)
            reason_log_drop_oldest(self);
        if (drive != self->last[0] || work != self->last[1] || auxiliary != self->last[2]) {
            if (self->count == REASON_ENTRIES)
                reason_log_drop_oldest(self);
            self->entries[(self->oldest + self->count) % REASON_ENTRIES] =
                (struct reason_entry){ self->now, { drive, work, auxiliary } };
            self->count++;
        }
    }
    if (self->was_permitted && !permitted)
        self->frozen = true;
    self->last[0] = drive;
    self->last[1] = work;
    self->last[2] = auxiliary;
    self->was_permitted = permitted;
    if (self->now < UINT32_MAX)
        self->now++;
}

#endif
