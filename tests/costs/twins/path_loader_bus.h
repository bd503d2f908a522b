/* The controller on the bus while nobody asks anything of it: address claim, active trouble codes, the request to the
 * engine, and the order that waits at the board. */
#ifndef PATH_LOADER_BUS_H
#define PATH_LOADER_BUS_H

#include "path_loader_drive.h"

#define TO_ALL 255u
#define GROUP_REQUEST_TO_ENGINE 0x0000u
#define GROUP_TRANSPORT_PACKET 0xEB00u
#define GROUP_TRANSPORT_CONTROL 0xEC00u
#define GROUP_ADDRESS_CLAIMED 0xEE00u
#define GROUP_ACTIVE_CODES 0xFECAu

/* Of the head of a frame in the outputs: an identifier of 29 bits; a frame with eight bytes. */
#define HEAD_EXTENDED 0x80000000u
#define HEAD_PRESENT_EIGHT 0x108

#define OUT_FRAMES 4u
#define MESSAGE_CODES 20u
#define MESSAGE_BYTES (2 + 4 * MESSAGE_CODES)
#define PACKET_BYTES 7u

struct frame {
    uint32_t id;
    uint8_t data[8];
};

/* Frames that leave in this period. */
struct outbox {
    int32_t *out;
    uint32_t count;
};

enum claim_standing { CLAIM_CLAIMING, CLAIM_CLAIMED };

struct address_claim {
    uint64_t name;
    uint32_t contest_steps;
    uint32_t left; /* periods in which others may still contest the address */
    uint8_t preferred;
    uint8_t address;
    uint8_t standing;
    bool due;
};

/* When active codes are told: once a second, and at once when one comes or goes, but each only once a second. */
struct code_timing {
    uint32_t second;
    uint32_t since_message;
    uint32_t since_turn;
    struct fault_set told;
    struct fault_set fresh;
    struct fault_set stale;
};

enum sending { SENDING_NOTHING, SENDING_ANNOUNCEMENT, SENDING_PACKETS };

/* A message of more than eight bytes, to all. */
struct broadcast {
    uint32_t gap_steps;
    uint32_t wait;
    uint16_t size;
    uint8_t state;
    uint8_t next;
    uint8_t bytes[MESSAGE_BYTES];
};

/* Slow work that the board is asked for. */
enum work_kind { WORK_NOTHING, WORK_READ_FAULT = 8 };

struct work_order {
    uint64_t item;
    uint8_t kind;
    uint8_t number;
    uint8_t place;
};

enum link_state { LINK_RESTS, LINK_UNDER_WAY, LINK_WHOLE };

/* A message from a tester and one to it, each in frames that must not take too long. */
struct link {
    uint32_t silence_steps;
    uint32_t receive_waited;
    uint32_t send_waited;
    uint8_t receiving;
    uint8_t sending;
};

/* What passes in the diagnostic server while it is silent. */
struct server {
    struct link link;
    uint64_t pool; /* of bits that nobody can guess */
    uint32_t lock_out;
    uint32_t silent;
    uint32_t silence_steps;
    uint32_t dead_man;
    uint32_t dead_man_steps;
    uint32_t held_up; /* periods in which a request waited for the answer before it */
    struct work_order order;
    uint8_t last_number;
    bool guest; /* the order is that of the log keeper */
    bool extended_session;
    bool driving;
    bool answer_ready;
};

struct bus {
    struct address_claim claim;
    struct code_timing timing;
    struct broadcast broadcast;
    struct server server;
    uint32_t since_write; /* of the fault log into flash */
    uint32_t unread;      /* frames to the station */
    uint8_t address;
    uint8_t engine_address;
    bool codes_due;
    bool log_asked_for;
};

static inline void bus_init(struct bus *self)
{
    *self = (struct bus){
        .claim = {
            /* Maker without a code, first function that the industry group gives a meaning to, may move. */
            .name = UINT64_C(0x7FF) << 21 | UINT64_C(128) << 40 | UINT64_C(3) << 60 | UINT64_C(1) << 63,
            .contest_steps = steps_of(250, TICK_US),
            .preferred = 0x27,
            .address = 0x27,
            .standing = CLAIM_CLAIMING,
            .due = true,
        },
        .timing = { .second = steps_of(1000, TICK_US) },
        .broadcast = { .gap_steps = steps_of(50, TICK_US), .state = SENDING_NOTHING },
        .server = {
            .link = { .silence_steps = steps_of(1000, TICK_US), .receiving = LINK_RESTS, .sending = LINK_RESTS },
            .silence_steps = steps_of(5000, TICK_US),
            .dead_man_steps = steps_of(300, TICK_US) - 1,
        },
        .since_write = steps_of(2000, TICK_US),
        .address = 0x27,
        .engine_address = 0,
    };
}

static inline uint32_t broadcast_id(uint32_t priority, uint32_t group, uint32_t source)
{
    return priority << 26 | group << 8 | source;
}

static inline uint32_t addressed_id(uint32_t priority, uint32_t group, uint32_t destination, uint32_t source)
{
    return priority << 26 | group << 8 | destination << 8 | source;
}

static inline int32_t word_of(const uint8_t *bytes)
{
    return (int32_t)((uint32_t)bytes[0] | (uint32_t)bytes[1] << 8 | (uint32_t)bytes[2] << 16 |
                     (uint32_t)bytes[3] << 24);
}

/* The caller sees to it that there is room. */
static inline void outbox_put(struct outbox *self, const struct frame *frame)
{
    int32_t *slot = self->out + 4 * self->count;
    slot[0] = (int32_t)(frame->id | HEAD_EXTENDED);
    slot[1] = HEAD_PRESENT_EIGHT;
    slot[2] = word_of(frame->data);
    slot[3] = word_of(frame->data + 4);
    self->count++;
}

static inline void outbox_clear_rest(struct outbox *self)
{
    for (uint32_t word = 4 * self->count; word < 4 * OUT_FRAMES; word++)
        self->out[word] = 0;
}

static inline void address_claim_reset(struct address_claim *self)
{
    self->address = self->preferred;
    self->standing = CLAIM_CLAIMING;
    self->left = 0;
    self->due = true;
}

static inline void address_claim_step(struct address_claim *self, struct outbox *outbox)
{
    if (self->due) {
        self->due = false;
        if (self->standing == CLAIM_CLAIMING) {
            bool contested = self->address >= 128 && self->address <= 247;
            self->left = contested ? self->contest_steps : 0;
            if (!contested)
                self->standing = CLAIM_CLAIMED;
        }
        struct frame frame = { addressed_id(6, GROUP_ADDRESS_CLAIMED, TO_ALL, self->address), { 0 } };
        for (uint32_t byte = 0; byte < 8; byte++)
            frame.data[byte] = (uint8_t)(self->name >> 8 * byte);
        outbox_put(outbox, &frame);
    } else if (self->standing == CLAIM_CLAIMING) {
        if (self->left > 0)
            self->left--;
        if (self->left == 0)
            self->standing = CLAIM_CLAIMED;
    }
}

/* Whether the active codes are to be told now. */
static inline bool code_timing_step(struct code_timing *self, const struct fault_set *active)
{
    if (self->since_message < UINT32_MAX)
        self->since_message++;
    if (self->since_turn < UINT32_MAX)
        self->since_turn++;
    if (self->since_turn >= self->second) {
        self->since_turn = 0;
        self->stale = self->fresh;
        self->fresh = (struct fault_set){ { 0 } };
    }
    uint32_t any = 0;
    uint32_t untold = 0;
    uint32_t at_once = 0;
    for (uint32_t word = 0; word < FAULT_WORDS; word++) {
        uint32_t differs = active->words[word] ^ self->told.words[word];
        uint32_t changed = differs & ~self->fresh.words[word] & ~self->stale.words[word];
        self->fresh.words[word] |= changed;
        at_once |= changed;
        any |= active->words[word];
        untold |= differs;
    }
    /* The last code may go while it is too soon to say so: the next regular message says it. */
    bool regular = self->since_message >= self->second && (any != 0 || untold != 0);
    if (at_once == 0 && !regular)
        return false;
    self->told = *active;
    self->since_message = 0;
    return true;
}

/* Lamps and codes; gives how many bytes. */
static inline uint16_t codes_write(uint8_t *bytes, const struct fault_table *faults, const struct fault_log *log)
{
    for (uint32_t byte = 0; byte < MESSAGE_BYTES; byte++)
        bytes[byte] = byte >= 2 && byte < 6 ? 0 : 0xFF;
    bool red = (faults->reactions & (CUT_SUPPLY | STOP_ALL)) != 0;
    bool amber = faults->count > 0;
    bytes[0] = (uint8_t)(red << 4 | amber << 2);
    uint32_t used = 2;
    for (uint32_t word = 0; word < FAULT_WORDS; word++) {
        for (uint32_t rest = faults->active.words[word]; rest != 0 && used < MESSAGE_BYTES; used += 4) {
            uint32_t place = word * 32 + lowest_bit(&rest);
            const struct fault_rule *rule = &fault_rules[place];
            uint8_t count = log->lines[place].count;
            bytes[used] = (uint8_t)rule->spn;
            bytes[used + 1] = (uint8_t)(rule->spn >> 8);
            bytes[used + 2] = (uint8_t)(rule->fmi | rule->spn >> 16 << 5);
            bytes[used + 3] = count > 126 ? 126 : count;
        }
    }
    return (uint16_t)(used < 8 ? 8 : used);
}

static inline void codes_begin(struct bus *self, const struct fault_table *faults, const struct fault_log *log,
                               struct outbox *outbox)
{
    struct broadcast *broadcast = &self->broadcast;
    broadcast->size = codes_write(broadcast->bytes, faults, log);
    if (broadcast->size > 8) {
        broadcast->state = SENDING_ANNOUNCEMENT;
        return;
    }
    struct frame frame = { broadcast_id(6, GROUP_ACTIVE_CODES, self->address), { 0 } };
    for (uint32_t byte = 0; byte < 8; byte++)
        frame.data[byte] = broadcast->bytes[byte];
    outbox_put(outbox, &frame);
}

static inline void broadcast_announce(struct broadcast *self, uint8_t address, struct outbox *outbox)
{
    const struct frame frame = {
        addressed_id(7, GROUP_TRANSPORT_CONTROL, TO_ALL, address),
        { 32, (uint8_t)self->size, (uint8_t)(self->size >> 8), (uint8_t)((self->size + 6u) / PACKET_BYTES), 0xFF,
          GROUP_ACTIVE_CODES & 0xFF, GROUP_ACTIVE_CODES >> 8, 0 },
    };
    self->state = SENDING_PACKETS;
    self->next = 1;
    self->wait = self->gap_steps;
    outbox_put(outbox, &frame);
}

static inline void broadcast_step(struct broadcast *self, uint8_t address, struct outbox *outbox)
{
    if (self->state == SENDING_NOTHING)
        return;
    if (self->state == SENDING_ANNOUNCEMENT) {
        broadcast_announce(self, address, outbox);
        return;
    }
    if (self->wait > 1) {
        self->wait--;
        return;
    }
    struct frame frame = { addressed_id(7, GROUP_TRANSPORT_PACKET, TO_ALL, address), { self->next } };
    uint32_t start = (self->next - 1u) * PACKET_BYTES;
    for (uint32_t byte = 0; byte < PACKET_BYTES; byte++)
        frame.data[byte + 1] = start + byte < self->size ? self->bytes[start + byte] : 0xFF;
    if (start + PACKET_BYTES >= self->size)
        self->state = SENDING_NOTHING;
    self->next++;
    self->wait = self->gap_steps;
    outbox_put(outbox, &frame);
}

static inline uint64_t stirred(uint64_t pool, uint32_t bits)
{
    uint64_t word = (pool ^ bits) + UINT64_C(0x9E3779B97F4A7C15);
    word = (word ^ (word >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
    word = (word ^ (word >> 27)) * UINT64_C(0x94D049BB133111EB);
    return word ^ (word >> 31);
}

/* The board's answer to an order ends it. */
static inline void server_take_report(struct server *self, const int32_t *in)
{
    if (self->order.kind == WORK_NOTHING || in[IN_WORK_REPORT] == 0 ||
        (uint8_t)in[IN_WORK_NUMBER] != self->order.number)
        return;
    self->order.kind = WORK_NOTHING;
    self->order.place = 0;
    self->order.item = 0;
    self->guest = false;
}

/* Gives up what takes too long. */
static inline void link_step(struct link *self)
{
    if (self->receiving == LINK_UNDER_WAY && ++self->receive_waited > self->silence_steps)
        self->receiving = LINK_RESTS;
    if (self->sending == LINK_UNDER_WAY && ++self->send_waited > self->silence_steps)
        self->sending = LINK_RESTS;
}

static inline void server_step(struct server *self, const int32_t *in)
{
    self->pool = stirred(self->pool, (uint32_t)in[IN_ENTROPY]);
    if (self->lock_out > 0)
        self->lock_out--;
    server_take_report(self, in);
    if (self->silent < UINT32_MAX)
        self->silent++;
    if (self->extended_session && self->silent > self->silence_steps) {
        self->extended_session = false;
        self->driving = false;
    }
    if (self->driving && ++self->dead_man >= self->dead_man_steps)
        self->driving = false;
    if (!self->answer_ready && self->link.sending == LINK_RESTS)
        self->held_up = 0;
    else if (self->link.receiving == LINK_WHOLE)
        self->held_up++;
}

static inline bool server_order_as_guest(struct server *self, enum work_kind kind, uint8_t place, uint64_t item)
{
    if (self->guest || self->order.kind != WORK_NOTHING)
        return false;
    self->last_number = (uint8_t)(self->last_number == UINT8_MAX ? 1 : self->last_number + 1);
    self->order = (struct work_order){ item, (uint8_t)kind, self->last_number, place };
    self->guest = true;
    return true;
}

/* Asks for the first line of the log in flash, once. */
static inline void keeper_step(struct bus *self)
{
    if (self->since_write < UINT32_MAX)
        self->since_write++;
    if (!self->log_asked_for)
        self->log_asked_for = server_order_as_guest(&self->server, WORK_READ_FAULT, 0, 0);
}

/* Sum of seven bytes, identifier and count, folded to four bits. */
static inline uint8_t request_checksum(const struct frame *frame, uint8_t count)
{
    uint32_t sum = count;
    for (uint32_t byte = 0; byte < 7; byte++)
        sum += frame->data[byte];
    for (uint32_t shift = 0; shift < 32; shift += 8)
        sum += frame->id >> shift & 0xFFu;
    return (uint8_t)(((sum >> 4) + sum) & 0xFu);
}

static inline void engine_request_send(struct engine_request *self, uint8_t engine, uint8_t own, struct outbox *outbox)
{
    if (self->wait > 0)
        self->wait--;
    if (self->wait > 0 || (!self->asked && self->releases == 0))
        return;
    uint32_t speed = 0xFFFF;
    if (self->asked)
        speed = (uint32_t)held(self->speed_asked, 0, 0xFAFF);
    else
        self->releases--;
    self->wait = REQUEST_PERIODS;
    uint8_t count = self->count;
    self->count = count >= 7 ? 0 : (uint8_t)(count + 1);
    struct frame frame = {
        addressed_id(3, GROUP_REQUEST_TO_ENGINE, engine, own),
        { (uint8_t)(self->asked ? 0xF1 : 0xF0), (uint8_t)speed, (uint8_t)(speed >> 8), 0xFF, 0xFF, 0xFF, 0xFF, 0 },
    };
    frame.data[7] = (uint8_t)(count | request_checksum(&frame, count) << 4);
    outbox_put(outbox, &frame);
}

static inline void station_step(struct bus *self, const int32_t *in, const struct fault_table *faults,
                                const struct fault_log *log, struct outbox *outbox)
{
    bool off = in[IN_BUS_OFF] != 0;
    if (off) {
        address_claim_reset(&self->claim);
        self->broadcast.state = SENDING_NOTHING;
    } else {
        address_claim_step(&self->claim, outbox);
        if (self->claim.standing == CLAIM_CLAIMED)
            self->address = self->claim.address;
    }
    /* Faults that come while nothing can be said are said afterwards. */
    self->codes_due |= code_timing_step(&self->timing, &faults->active);
    server_step(&self->server, in);
    if (off || self->claim.standing != CLAIM_CLAIMED)
        return;
    if (self->codes_due && self->broadcast.state == SENDING_NOTHING) {
        self->codes_due = false;
        codes_begin(self, faults, log, outbox);
    }
    broadcast_step(&self->broadcast, self->address, outbox);
    link_step(&self->server.link);
}

/* The last thing in a period. */
static inline void bus_step(struct bus *self, struct engine_request *request, const int32_t *in,
                            const struct fault_table *faults, const struct fault_log *log, int32_t *out)
{
    uint32_t heads = 0;
    for (uint32_t frame = 0; frame < 8; frame++)
        heads |= (uint32_t)(in[IN_BUS + 4 * frame] | in[IN_BUS + 4 * frame + 1]);
    /* Nobody sends to the station here. */
    self->unread += heads != 0;
    struct outbox outbox = { &out[OUT_BUS], 0 };
    /* The engine comes before the station. */
    if (self->claim.standing == CLAIM_CLAIMED && in[IN_BUS_OFF] == 0)
        engine_request_send(request, self->engine_address, self->claim.address, &outbox);
    station_step(self, in, faults, log, &outbox);
    keeper_step(self);
    outbox_clear_rest(&outbox);
    const struct work_order *order = &self->server.order;
    out[OUT_WORK_KIND] = order->kind;
    out[OUT_WORK_NUMBER] = order->number;
    out[OUT_WORK_PLACE] = order->place;
    out[OUT_WORK_ITEM] = (int32_t)order->item;
    out[OUT_WORK_ITEM + 1] = (int32_t)(order->item >> 32);
}

#endif
