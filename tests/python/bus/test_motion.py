"""What a tester moves, and what stops it."""

import time

from machine import Scanner, refusal, wait_for

IDLE, RUNNING, DONE, FAILED = range(4)
LEFT_PUMP_FORWARD, BOOM_RAISE = 0x0310, 0x0314
START, STOP, ASK = 1, 2, 3
CAP = 450


def test_a_coil_sweep_goes_up_to_the_cap_and_down_while_the_tester_is_heard(permitted):
    with Scanner(permitted) as tester:
        tester.unlock()
        tester.routine(START, BOOM_RAISE)
        seen = []
        while (now := tester.routine(ASK, BOOM_RAISE))[0] == RUNNING:
            seen.append(now[1:])
            time.sleep(0.05)
        assert now[0] == DONE, now
        asked, measured = [pair[0] for pair in seen], [pair[1] for pair in seen]
        assert max(asked) <= CAP and max(asked) > 0.9 * CAP
        assert max(measured) <= 1.15 * CAP and max(measured) > 0.8 * CAP
        assert 30 < len(seen)
        tester.client.change_session(1)


def test_silence_stops_a_motion_within_300_ms(permitted):
    with Scanner(permitted) as tester, Scanner(permitted, source=0xF1) as watcher:
        tester.unlock()
        tester.routine(START, BOOM_RAISE)
        for _ in range(15):
            tester.routine(ASK, BOOM_RAISE)
            time.sleep(0.05)
        silent = time.monotonic()
        assert watcher.signal("work_current") > 100
        # The watcher's own questions keep nothing going.
        wait_for(lambda: watcher.signal("work_current") < 20, 0.6)
        # The dead-man's 300 ms, the current's decay, and this computer's own delays.
        assert time.monotonic() - silent < 0.5
        assert tester.routine(ASK, BOOM_RAISE)[0] == IDLE
        tester.client.change_session(1)


def test_anyone_may_stop_it_and_the_end_of_the_session_does(permitted):
    with Scanner(permitted) as tester, Scanner(permitted, source=0xF1) as other:
        tester.unlock()
        tester.routine(START, BOOM_RAISE)
        assert refusal(lambda: tester.routine(START, LEFT_PUMP_FORWARD)) == 0x22, "one motion at a time"
        assert other.routine(STOP, BOOM_RAISE)[0] in (IDLE, RUNNING)
        assert tester.routine(ASK, BOOM_RAISE)[0] == IDLE
        wait_for(lambda: tester.signal("standstill") == "yes" and tester.signal("work_current") < 20, 2)
        tester.routine(START, BOOM_RAISE)
        tester.client.change_session(1)
        wait_for(lambda: tester.signal("work_current") < 20, 0.5)


def test_a_lamp_is_driven_and_given_back(permitted):
    with Scanner(permitted) as tester:
        tester.unlock()
        lamp = 0x0401
        before = tester.signal("status_lamp")
        value = 0 if before == "yes" else 1
        tester.client.conn.send(b"\x2f" + lamp.to_bytes(2, "big") + b"\x03" + value.to_bytes(4, "big"))
        assert tester.client.conn.wait_frame(timeout=2, exception=True)[:1] == b"\x6f"
        wait_for(lambda: tester.signal("status_lamp") != before, 0.3)
        time.sleep(0.5)
        assert tester.signal("status_lamp") == before, "silence gave it back"
        tester.client.change_session(1)
