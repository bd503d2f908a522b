"""The loop of machine.rs in plain Python: the same blocks, the same numbers, to be timed beside it.

    python3 machine.py TICKS

Prints the seconds that a tick took in the fastest 1000, the sum over all outputs, x, y and heading.
"""

import math
import sys
import time

ONE = 1 << 30
HALF = 1 << 29
FINE_BITS = 12
FINE_ONE = 1 << 42
TICK_MICROS = 10_000
TICK_SECONDS = 0.01
THRESHOLD = 220
END = 780
FULL_SPEED = 3.0
LAG = 0.15
HALF_TRACK = 0.75
TEETH = 60
METRES_A_TOOTH = 0.01
EDGE_A_MICROSECOND = 480_000_000
WORD = (1 << 64) - 1


def part(value, share):
    """Product of magnitudes, rounded to nearest."""
    return (value * share + HALF) >> 30


def fraction(value, whole):
    """Quotient of magnitudes, rounded to nearest, at most 1."""
    return ONE if value >= whole else ((value << 30) + whole // 2) // whole


def permille(value):
    magnitude = fraction(abs(value), 1000)
    return -magnitude if value < 0 else magnitude


def steps(millis):
    return -(-millis * 1000 // TICK_MICROS)


class Axis:
    __slots__ = ("deadband", "travel", "progression", "straight")

    def __init__(self, deadband, saturation, progression):
        self.deadband = permille(deadband)
        self.travel = permille(saturation) - self.deadband
        self.progression = permille(progression)
        self.straight = ONE - self.progression

    def step(self, position):
        beyond = abs(position) - self.deadband
        if beyond <= 0:
            return 0
        share = fraction(beyond, self.travel)
        cubic = part(part(share, share), share)
        intent = (share * self.straight + cubic * self.progression + HALF) >> 30
        return -intent if position < 0 else intent


class NeutralStart:
    __slots__ = ("hold", "frames", "permitted", "must_ask", "neutral_steps", "neutral_frames")

    def __init__(self, hold, frames):
        self.hold = steps(hold)
        self.frames = frames
        self.permitted = False
        self.must_ask = True
        self.neutral_steps = 0
        self.neutral_frames = 0

    def step(self, conditions, neutral, new_frame, ask):
        if not conditions:
            self.neutral_steps = self.neutral_frames = 0
            self.permitted = False
        elif not self.permitted:
            self.permitted = self._waiting(neutral, new_frame, ask)
        return self.permitted

    def _waiting(self, neutral, new_frame, ask):
        if not neutral:
            self.neutral_steps = self.neutral_frames = 0
            return False
        long_enough = self.neutral_steps >= self.hold
        self.neutral_steps += 1
        self.neutral_frames = min(self.neutral_frames + new_frame, 255)
        if not long_enough or self.neutral_frames < self.frames:
            return False
        if self.must_ask:
            if not ask:
                return False
            self.must_ask = False
        self.neutral_steps = self.neutral_frames = 0
        return True


class BandedMixer:
    __slots__ = ("linear", "cubic", "pivot_from", "pivot_to", "outer", "beyond", "within", "rolling")

    def __init__(self, pivot_point, pivot_band, sensitivity, reverse_blend):
        self.linear = permille(sensitivity)
        self.cubic = ONE - self.linear
        self.pivot_from = fraction(2 * pivot_point - pivot_band, 2000)
        self.pivot_to = fraction(2 * pivot_point + pivot_band, 2000)
        self.outer = ONE - self.pivot_to
        self.beyond = permille(reverse_blend)
        self.within = fraction(reverse_blend, 4000)
        self.rolling = 0

    def step(self, drive, steer, travel):
        if travel >= self.beyond or (self.rolling == 1 and travel > self.within):
            self.rolling = 1
        elif travel <= -self.beyond or (self.rolling == -1 and travel < -self.within):
            self.rolling = -1
        else:
            self.rolling = 0
        shaped = abs(steer)
        cube = part(part(shaped, shaped), shaped)
        shaped = (shaped * self.linear + cube * self.cubic + HALF) >> 30
        if drive == 0:
            spin = -shaped if steer < 0 else shaped
            return spin, -spin
        speed = abs(drive)
        if shaped < self.pivot_from:
            share = (fraction(shaped, self.pivot_from) + 1) >> 1
        else:
            share = HALF + ((fraction(max(shaped - self.pivot_to, 0), self.outer) + 1) >> 1)
        yaw = part(speed, share)
        travel = -(speed - yaw) if drive < 0 else speed - yaw
        if (steer < 0) != (self.rolling == -1 or (self.rolling == 0 and drive < 0)):
            yaw = -yaw
        return travel + yaw, travel - yaw


class RateLimit:
    __slots__ = ("rise", "fall", "position")

    def __init__(self, rise, fall):
        self.rise = min(-(-FINE_ONE * TICK_MICROS // (rise * 1000)), FINE_ONE)
        self.fall = min(-(-FINE_ONE * TICK_MICROS // (fall * 1000)), FINE_ONE)
        self.position = 0

    def step(self, target):
        position = self.position
        goal = target << FINE_BITS
        negative = position < 0 or (position == 0 and goal < 0)
        if negative:
            position, goal = -position, -goal
        if goal > position:
            position = min(position + self.rise, goal)
        else:
            position = max(position - self.fall, goal, 0)
        output = (position + (1 << (FINE_BITS - 1))) >> FINE_BITS
        if negative:
            self.position = -position
            return -output
        self.position = position
        return output


class CurrentMap:
    __slots__ = ("threshold", "span")

    def __init__(self, threshold, end):
        self.threshold = threshold
        self.span = end - threshold

    def step(self, share):
        return self.threshold + part(self.span, share) if share > 0 else 0


class PulseSpeed:
    __slots__ = ("teeth", "zero_speed_steps", "fastest", "edges", "stamp", "turning", "known", "silent", "reading")

    def __init__(self, teeth, zero_speed_after, fastest):
        self.teeth = teeth
        self.zero_speed_steps = steps(zero_speed_after)
        self.fastest = fastest * 8
        self.edges = self.stamp = self.silent = self.reading = 0
        self.turning = self.known = False

    def _speed(self, edges, micros):
        tooth_micros = micros * self.teeth
        if tooth_micros == 0:
            return None
        speed = (edges * EDGE_A_MICROSECOND + tooth_micros // 2) // tooth_micros
        return speed if speed <= self.fastest else None

    def step(self, edges, stamp):
        new_edges = (edges - self.edges) & 0xFFFF
        if not self.turning:
            if self.known and new_edges:
                self.turning = True
                self.stamp = stamp
                self.silent = 0
            self.known = True
            self.edges = edges
        elif new_edges:
            self.reading = self._speed(new_edges, (stamp - self.stamp) & 0xFFFFFFFF)
            self.edges = edges
            self.stamp = stamp
            self.silent = 0
        else:
            self.silent += 1
            if self.silent >= self.zero_speed_steps:
                self.turning = False
                self.reading = 0
            elif self.reading is not None:
                bound = self._speed(1, self.silent * TICK_MICROS)
                if bound is not None and bound < self.reading:
                    self.reading = bound
        return self.reading


class Debounce:
    __slots__ = ("set_steps", "clear_steps", "state", "waited")

    def __init__(self, set_after, clear_after):
        self.set_steps = steps(set_after)
        self.clear_steps = steps(clear_after)
        self.state = False
        self.waited = 0

    def step(self, level):
        if level == self.state:
            self.waited = 0
        elif self.waited >= (self.set_steps if level else self.clear_steps):
            self.state = level
            self.waited = 0
        else:
            self.waited += 1
        return self.state


class Plant:
    __slots__ = ("speeds", "turned", "x", "y", "heading")

    def __init__(self):
        self.speeds = [0.0, 0.0]
        self.turned = self.x = self.y = self.heading = 0.0

    def step(self, currents, sides):
        for place in (0, 1):
            share = max(currents[place] - THRESHOLD, 0) / (END - THRESHOLD)
            aim = -share * FULL_SPEED if sides[place] < 0 else share * FULL_SPEED
            self.speeds[place] += (aim - self.speeds[place]) * (TICK_SECONDS / LAG)
        left, right = self.speeds
        self.turned += abs(left) * TICK_SECONDS
        self.heading += (right - left) / (2.0 * HALF_TRACK) * TICK_SECONDS
        way = (left + right) / 2.0 * TICK_SECONDS
        self.x += way * math.cos(self.heading)
        self.y += way * math.sin(self.heading)


def lever(tick, period, offset):
    place = (tick + offset) % period
    quarter = period // 4
    if place < quarter:
        return 0
    share = (place - quarter) * 4000 // (3 * quarter)
    return share - 1000 if share < 2000 else 3000 - share


class Machine:
    def __init__(self):
        self.axis = Axis(80, 980, 300)
        self.start = NeutralStart(100, 3)
        self.mixer = BandedMixer(500, 100, 700, 100)
        self.left = RateLimit(1_800, 900)
        self.right = RateLimit(1_800, 900)
        self.pump = CurrentMap(THRESHOLD, END)
        self.pickup = PulseSpeed(TEETH, 300, 4_000)
        self.contacts = [Debounce(20 + 10 * channel, 10 * channel) for channel in range(32)]
        self.plant = Plant()
        self.travel = 0
        self.sum = 0

    def step(self, tick):
        axis, pump = self.axis, self.pump
        levels = 0xFFFF_FFF7 ^ (1 << (tick // 16 % 32) if tick % 16 < 3 else 0)
        contacts = 0
        for channel, contact in enumerate(self.contacts):
            if contact.step(bool(levels >> channel & 1)):
                contacts |= 1 << channel
        drive = axis.step(permille(lever(tick, 800, 0)))
        steer = axis.step(permille(lever(tick, 1_200, 300)))
        boom = axis.step(permille(lever(tick, 700, 100)))
        bucket = axis.step(permille(lever(tick, 900, 500)))
        neutral = drive == 0 and steer == 0
        if self.start.step(contacts & 0b111 == 0b111, neutral, tick % 2 == 0, tick % 50 > 40):
            asked = self.mixer.step(drive, steer, self.travel)
        else:
            asked = (0, 0)
        left, right = self.left.step(asked[0]), self.right.step(asked[1])
        both = left + right
        self.travel = (abs(both) + 1) // 2 * (-1 if both < 0 else 1)
        currents = (pump.step(abs(left)), pump.step(abs(right)), pump.step(boom), pump.step(bucket))
        edges = int(self.plant.turned / METRES_A_TOOTH) & 0xFFFF
        speed = self.pickup.step(edges, tick * TICK_MICROS & 0xFFFFFFFF)
        self.plant.step(currents, (left, right))
        a, b, c, d = currents
        speed = -524_288 if speed is None else speed
        self.sum = (self.sum * 31 + a + 3 * b + 5 * c + 7 * d + contacts + speed) & WORD


def main():
    ticks = int(sys.argv[1])
    machine = Machine()
    seconds = math.inf
    for first in range(0, ticks, 1000):
        some = range(first, min(first + 1000, ticks))
        begin = time.perf_counter()
        for tick in some:
            machine.step(tick)
        seconds = min(seconds, (time.perf_counter() - begin) / len(some))
    plant = machine.plant
    print(seconds, machine.sum, repr(plant.x), repr(plant.y), repr(plant.heading))


if __name__ == "__main__":
    main()
