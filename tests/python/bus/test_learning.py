"""Routines that measure: udsoncan leads them, a person's hand comes from the scenario."""

import time

import machine
from machine import COMMIT, Scanner, refusal, wait_for

IDLE, RUNNING, DONE, FAILED = range(4)
START, STOP, ASK = 1, 2, 3
LEFT_LEVER_Y, STRAIGHT_LINE = 0x0321, 0x0330
LOW, CENTRE, HIGH = 0x0114, 0x0115, 0x0116
LEFT_TRIM, RIGHT_TRIM = 0x0308, 0x0309
STEPS = machine.choices(machine.IDENTIFIERS[machine.PLACES["routine_step"]])
REASONS = machine.choices(machine.IDENTIFIERS[machine.PLACES["routine_reason"]])
DENIED, CONDITIONS, SEQUENCE = 0x33, 0x22, 0x24


class Routine:
    """One routine of a tester, and what it said."""

    def __init__(self, tester, number):
        self.tester, self.number, self.steps = tester, number, []
        tester.client.config["data_identifiers"].update(
            {did: machine.Word() for did in (LOW, CENTRE, HIGH, LEFT_TRIM, RIGHT_TRIM)}
        )

    def start(self):
        self.tester.routine(START, self.number)

    def ask(self):
        """Progress, the three numbers found, reason and step."""
        told = self.tester.report(ASK, self.number)
        if not self.steps or self.steps[-1] != told[-1]:
            self.steps.append(told[-1])
        return told

    def follow(self, until=lambda told: False, seconds=30):
        """Asks on until it has ended, or until it is so."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            told = self.ask()
            if told[0] != RUNNING or until(told):
                return told
            time.sleep(0.05)
        raise AssertionError(f"it still runs: {told}")

    def staged(self):
        answer = self.tester.client.routine_control(COMMIT, ASK).service_data.routine_status_record
        return int.from_bytes(answer, "big")


def values(tester, *dids):
    return [tester.read(did) for did in dids]


def test_a_worn_lever_is_calibrated_and_takes_effect_with_one_commit(lever_moved):
    with Scanner(lever_moved) as tester:
        routine = Routine(tester, LEFT_LEVER_Y)
        lever_moved.wait_until(3.5)
        tester.client.change_session(3)
        assert refusal(routine.start) == DENIED
        tester.unlock()
        routine.start()
        assert refusal(lambda: tester.routine(START, STRAIGHT_LINE)) == CONDITIONS, "one at a time"
        progress, low, centre, high, reason, _ = routine.follow()
        assert (progress, REASONS[reason]) == (DONE, "nothing")
        steps = [STEPS[step] for step in routine.steps]
        assert steps == ["release_lever", "hold_negative_end", "hold_positive_end", "release_again", "nothing"]
        assert abs(low + 930) <= 3 and centre == 0 and abs(high - 900) <= 3
        assert values(tester, LOW, CENTRE, HIGH) == [-1000, 0, 1000], "staged only"
        assert routine.staged() == 2, "the centre is as it was"
        wait_for(lambda: tester.signal("standstill") == "yes" and tester.signal("drive_neutral") == "yes", 3)
        tester.client.start_routine(COMMIT)
        wait_for(lambda: values(tester, LOW, CENTRE, HIGH) == [low, centre, high], 1)
        tester.client.change_session(1)


def test_nothing_is_taken_from_a_calibration_that_is_left(lever_moved):
    with Scanner(lever_moved) as tester:
        routine = Routine(tester, LEFT_LEVER_Y)
        lever_moved.wait_until(3.5)
        tester.unlock()
        routine.start()
        told = routine.follow(lambda told: STEPS[told[-1]] == "hold_positive_end")
        assert told[0] == RUNNING
        time.sleep(0.5)
        told = tester.report(ASK, LEFT_LEVER_Y)
        assert (told[0], REASONS[told[4]]) == (IDLE, "stopped"), "silence ends it"
        assert refusal(lambda: tester.routine(STOP, LEFT_LEVER_Y)) == SEQUENCE
        assert routine.staged() == 0 and values(tester, LOW, CENTRE, HIGH) == [-1000, 0, 1000]
        lever_moved.wait_until(12)
        assert refusal(lambda: tester.client.start_routine(COMMIT)) == SEQUENCE, "nothing is staged"
        # The lever rests: a new one that is stopped by the tester leaves nothing either.
        routine.start()
        routine.follow(lambda told: STEPS[told[-1]] == "hold_negative_end")
        tester.routine(STOP, LEFT_LEVER_Y)
        wait_for(lambda: tester.report(ASK, LEFT_LEVER_Y)[0] == IDLE, 1)
        assert routine.staged() == 0
        tester.client.change_session(1)


def test_a_calibration_needs_a_machine_that_is_not_permitted(permitted):
    with Scanner(permitted) as tester:
        tester.unlock()
        assert refusal(lambda: tester.routine(START, LEFT_LEVER_Y)) == CONDITIONS
        tester.client.change_session(1)


def test_a_straight_line_is_learnt_from_a_drive_and_refused_from_one_that_is_steered(straight_drive):
    with Scanner(straight_drive) as tester:
        routine = Routine(tester, STRAIGHT_LINE)
        straight_drive.wait_until(4)
        tester.unlock()
        routine.start()
        progress, left, right, faster, reason, _ = routine.follow()
        assert (progress, REASONS[reason]) == (DONE, "nothing")
        assert [STEPS[step] for step in routine.steps] == ["drive_straight", "keep_straight", "nothing"]
        assert left == 0 and 20 <= right <= 100 and 5 <= right + faster <= 15, "faster, in spite of its trim of 10"
        assert refusal(lambda: tester.client.start_routine(COMMIT)) == CONDITIONS, "it still drives"
        assert values(tester, LEFT_TRIM, RIGHT_TRIM) == [0, 10]
        while tester.signal("standstill") != "yes":
            time.sleep(0.1)
        tester.client.start_routine(COMMIT)
        wait_for(lambda: values(tester, LEFT_TRIM, RIGHT_TRIM) == [left, right], 1)
        routine.start()
        progress, *_, reason, _ = routine.follow()
        assert (progress, REASONS[reason]) == (FAILED, "steering_touched")
        assert routine.staged() == 0 and values(tester, LEFT_TRIM, RIGHT_TRIM) == [left, right]
        tester.client.change_session(1)
