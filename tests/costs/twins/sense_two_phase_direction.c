/* Which way a wheel turns, by two pulse trains a quarter apart: 3 edges make a direction, 8 to and fro unmake it. */
#include "sense_reading.h"

enum turn { TURN_FORWARD, TURN_REVERSE };

struct sense_two_phase_direction {
    int32_t edges;
    struct sensed direction;
    uint8_t confirm;
    uint8_t stuck_after;
    uint8_t way; /* of the last edge */
    uint8_t same_way; /* edges in a row that went this way */
    uint8_t to_and_fro; /* edges that turned round since a direction was confirmed */
    bool started;
    bool first;
    bool second;
};

const uint32_t sense_two_phase_direction_size = sizeof(struct sense_two_phase_direction);

void sense_two_phase_direction_new(struct sense_two_phase_direction *self)
{
    *self = (struct sense_two_phase_direction){
        .confirm = 3,
        .stuck_after = 8,
        .direction = sensed_flawed(HEALTH_SILENT),
        .way = TURN_FORWARD,
    };
}

static void two_phase_direction_count(struct sense_two_phase_direction *self, enum turn way)
{
    self->edges = (int32_t)((uint32_t)self->edges + (way == TURN_FORWARD ? 1u : UINT32_MAX));
    if (way == self->way && self->same_way > 0) {
        if (self->same_way < UINT8_MAX)
            self->same_way++;
    } else {
        if (self->same_way > 0 && self->to_and_fro < UINT8_MAX)
            self->to_and_fro++;
        self->same_way = 1;
        self->way = (uint8_t)way;
    }
    if (self->same_way >= self->confirm) {
        self->direction = sensed_good(way);
        self->to_and_fro = 0;
    } else if (self->to_and_fro >= self->stuck_after) {
        self->direction = sensed_flawed(HEALTH_DISAGREEMENT);
    }
}

static struct sensed two_phase_direction_step(struct sense_two_phase_direction *self, bool first, bool second)
{
    bool first_changed = self->started && first != self->first;
    bool second_changed = self->started && second != self->second;
    self->started = true;
    self->first = first;
    self->second = second;
    if (first_changed && second_changed) {
        self->direction = sensed_flawed(HEALTH_TOO_FAST);
        self->same_way = 0;
    } else if (first_changed) {
        /* Forward, the first phase changes to what the second is not, and the second to what the first is. */
        two_phase_direction_count(self, first != second ? TURN_FORWARD : TURN_REVERSE);
    } else if (second_changed) {
        two_phase_direction_count(self, first == second ? TURN_FORWARD : TURN_REVERSE);
    }
    return self->direction;
}

void sense_two_phase_direction_step(struct sense_two_phase_direction *self, const int32_t *in, int32_t *out)
{
    sensed_put(two_phase_direction_step(self, in[0] != 0, in[1] != 0), out);
    out[2] = self->edges;
}
