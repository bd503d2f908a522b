"""udsoncan over can-isotp: what is read, written, refused."""

import time

import pytest
from udsoncan import services

import machine
from machine import ARM_BOX, COMMIT, DISCARD, FREEZE_BOX, Scanner, refusal

NOT_IN_SESSION, DENIED, OUT_OF_RANGE, CONDITIONS, SEQUENCE = 0x7F, 0x33, 0x31, 0x22, 0x24
INVALID_KEY, TOO_MANY, DELAY, LENGTH, UNKNOWN = 0x35, 0x36, 0x37, 0x13, 0x11
ROWS = machine.sheet("parameters")
PARAMETERS = [int(row["id"], 16) for row in ROWS]
DECLARED = {int(row["id"], 16): row for row in ROWS}
EXTENDED = services.DiagnosticSessionControl.Session.extendedDiagnosticSession
DEFAULT = services.DiagnosticSessionControl.Session.defaultSession


def raw(row, text):
    """The raw value of what a sheet shows."""
    shape = machine.IDENTIFIERS[int(row["id"], 16)]
    if choices := machine.choices(shape):
        return choices.index(text)
    numerator, denominator = machine.scale(shape)
    return round(float(text) * denominator / numerator)


def limits(row):
    if choices := machine.choices(machine.IDENTIFIERS[int(row["id"], 16)]):
        return 0, len(choices) - 1
    low, high = row["range"].split("–")
    return raw(row, low), raw(row, high)


def codecs(tester):
    identifiers = tester.client.config["data_identifiers"]
    identifiers.update({did: machine.Word() for did in PARAMETERS})


def test_every_parameter_is_read_as_it_is_declared(permitted):
    with Scanner(permitted) as tester:
        codecs(tester)
        for row in ROWS:
            assert tester.read(int(row["id"], 16)) == raw(row, row["default"]), row["parameter"]


def test_every_internal_point_input_and_output_is_read(permitted):
    with Scanner(permitted) as tester:
        for row in machine.IDENTIFIERS.values():
            if row["kind"] != "parameter":
                tester.signal(row["name"])
        assert tester.signal("permission_drive") == "yes"
        assert tester.signal("standstill") == "yes"
        assert tester.signal("lever_pattern") == "ISO"


def test_the_unit_says_who_it_is(permitted):
    with Scanner(permitted) as tester:
        identity = [tester.read(did) for did in (0xF18A, 0xF197, 0xF188, 0xF18C)]
        assert identity == ["Tarnbrook", "Q36", "Q36-S-100", "1"]


def test_every_guard_refuses_as_it_should(permitted):
    with Scanner(permitted) as tester:
        client = tester.client
        codecs(tester)
        deadband, stop_time = 0x0105, 0x0201
        write = lambda did, value: refusal(lambda: client.write_data_by_identifier(did, value))
        client.change_session(DEFAULT)
        assert write(deadband, 70) == NOT_IN_SESSION
        assert refusal(lambda: client.request_seed(1)) == NOT_IN_SESSION
        assert refusal(lambda: client.clear_dtc(0xFFFFFF)) == NOT_IN_SESSION
        assert refusal(lambda: client.ecu_reset(1)) == NOT_IN_SESSION
        client.change_session(EXTENDED)
        assert write(deadband, 70) == DENIED
        assert refusal(lambda: client.clear_dtc(0xFFFFFF)) == DENIED
        assert refusal(lambda: client.ecu_reset(1)) == DENIED
        assert refusal(lambda: client.start_routine(COMMIT)) == DENIED
        assert refusal(lambda: client.start_routine(0x0310)) == DENIED
        assert refusal(lambda: client.send_key(2, bytes(16))) == SEQUENCE
        tester.unlock()
        assert write(stop_time, 200) == DENIED, "safety needs the higher level"
        assert refusal(lambda: client.start_routine(COMMIT)) == SEQUENCE, "nothing is staged"
        for row in ROWS:
            low, high = limits(row)
            if row["access"] == "constant":
                assert write(int(row["id"], 16), low) == DENIED, row
            elif row["access"] in ("operator", "tune"):
                for value in (low - 1, high + 1):
                    assert write(int(row["id"], 16), value) == OUT_OF_RANGE, row
        assert refusal(lambda: client.start_routine(0x7777)) == OUT_OF_RANGE
        # The two pump thresholds and ends: in range one by one, refused together.
        end, threshold = named("left_pump_forward_end"), named("left_pump_forward_threshold")
        client.write_data_by_identifier(end, limits(DECLARED[end])[0])
        client.write_data_by_identifier(threshold, limits(DECLARED[threshold])[1])
        assert refusal(lambda: client.start_routine(COMMIT)) == OUT_OF_RANGE
        client.start_routine(DISCARD)
        client.change_session(DEFAULT)


def named(parameter):
    return next(did for did, row in DECLARED.items() if row["parameter"] == parameter)


def test_every_parameter_is_written_takes_effect_as_a_whole_and_is_put_back(permitted):
    with Scanner(permitted) as tester:
        client = tester.client
        codecs(tester)
        tester.unlock(2)
        written = {}
        for row in ROWS:
            did, (low, high), default = int(row["id"], 16), limits(row), raw(row, row["default"])
            if row["access"] == "constant" or "address" in row["parameter"] or low == high:
                continue
            near = default + 1 if default < high else default - 1
            client.write_data_by_identifier(did, near)
            written[did] = near
        assert all(tester.read(did) == raw(DECLARED[did], DECLARED[did]["default"]) for did in written), "staged only"
        client.start_routine(COMMIT)
        wait = time.monotonic() + 1
        while time.monotonic() < wait and any(tester.read(did) != value for did, value in written.items()):
            client.tester_present()
        assert {did: tester.read(did) for did in written} == written
        for did in written:
            client.write_data_by_identifier(did, raw(DECLARED[did], DECLARED[did]["default"]))
        client.start_routine(COMMIT)
        time.sleep(0.1)
        assert all(tester.read(did) == raw(DECLARED[did], DECLARED[did]["default"]) for did in written)
        client.change_session(DEFAULT)


def test_nothing_is_written_or_cleared_while_a_lever_is_held(lever_held):
    lever_held.wait_until(2)
    with Scanner(lever_held) as tester:
        codecs(tester)
        tester.unlock()
        assert refusal(lambda: tester.client.write_data_by_identifier(0x0105, 70)) == CONDITIONS
        assert refusal(lambda: tester.client.clear_dtc(0xFFFFFF)) == CONDITIONS
        assert refusal(lambda: tester.client.ecu_reset(1)) == CONDITIONS
        assert refusal(lambda: tester.client.start_routine(0x0310)) == CONDITIONS
        assert refusal(lambda: tester.client.start_routine(ARM_BOX)) == CONDITIONS
        tester.client.start_routine(FREEZE_BOX)


def test_a_wrong_code_opens_nothing_and_three_lock_out_over_a_restart(own_machine):
    with Scanner(own_machine) as tester:
        client = tester.client
        tester.unlock()
        client.ecu_reset(1)
        time.sleep(1.0)
        client.change_session(EXTENDED)
        for expected in (INVALID_KEY, INVALID_KEY, TOO_MANY):
            client.request_seed(1)
            assert refusal(lambda: client.send_key(2, bytes(16))) == expected
        assert refusal(lambda: client.request_seed(1)) == DELAY
        for _ in range(11):
            time.sleep(1.0)
            client.tester_present()
        tester.unlock()
        assert len({bytes(client.request_seed(3).service_data.seed) for _ in range(5)}) == 5


def test_silence_ends_the_session(permitted):
    with Scanner(permitted) as tester:
        codecs(tester)
        tester.unlock()
        time.sleep(5.3)
        assert refusal(lambda: tester.client.write_data_by_identifier(0x0105, 70)) == NOT_IN_SESSION


def test_a_second_tester_reads_but_has_no_part_in_the_session(permitted):
    with Scanner(permitted) as tester, Scanner(permitted, source=0xF1) as other:
        codecs(tester)
        codecs(other)
        tester.unlock()
        assert other.read(0x0105) == tester.read(0x0105)
        assert refusal(lambda: other.client.write_data_by_identifier(0x0105, 70)) == NOT_IN_SESSION
        assert refusal(lambda: other.client.change_session(EXTENDED)) == CONDITIONS
        tester.client.change_session(DEFAULT)
        other.client.change_session(EXTENDED)
        other.client.change_session(DEFAULT)


def test_faults_are_read_with_their_history_and_cleared(two_faults):
    oil, throttle = 1638, 91
    with Scanner(two_faults) as tester:
        client = tester.client
        two_faults.wait_until(7)
        active = {code.id: code.status for code in client.get_dtc_by_status_mask(0x01).service_data.dtcs}
        assert set(active) == {dtc(oil, 2), dtc(throttle, 2)}
        assert all(status.test_failed and status.confirmed for status in active.values())
        two_faults.wait_until(9.5)
        assert client.get_number_of_dtc_by_status_mask(0x01).service_data.dtc_count == 0
        assert client.get_number_of_dtc_by_status_mask(0x08).service_data.dtc_count == 2
        history = raw_history(client, dtc(oil, 2))
        first, last, count = int.from_bytes(history[6:10], "big"), int.from_bytes(history[10:14], "big"), history[14]
        # Broken at 3 s, told after its 0.5 s; a period is 10 ms.
        assert 300 <= first <= 380 and first == last and count == 1, history.hex()
        tester.unlock()
        client.clear_dtc(dtc(oil, 2))
        left = [code.id for code in client.get_dtc_by_status_mask(0x08).service_data.dtcs]
        assert left == [dtc(throttle, 2)]
        client.clear_dtc(0xFFFFFF)
        assert client.get_number_of_dtc_by_status_mask(0x08).service_data.dtc_count == 0


def dtc(spn, fmi):
    """The three bytes of a code as in DM1 (SAE J1939-73)."""
    return (spn & 0xFF) << 16 | (spn >> 8 & 0xFF) << 8 | (spn >> 16) << 5 | fmi


def raw_history(client, dtc):
    """Bytes behind the sub-function's echo: service 19 06, record 1."""
    client.conn.empty_rxqueue()
    client.conn.send(b"\x19\x06" + dtc.to_bytes(3, "big") + b"\x01")
    answer = client.conn.wait_frame(timeout=2, exception=True)
    assert answer[:2] == b"\x59\x06", answer.hex()
    return answer[1:]


@pytest.mark.parametrize("request_bytes,expected", [(b"\x85\x01", UNKNOWN), (b"\x22\x01", LENGTH), (b"\x22\x77\x77", OUT_OF_RANGE)])
def test_what_makes_no_sense_is_refused(permitted, request_bytes, expected):
    with Scanner(permitted) as tester:
        tester.client.conn.send(request_bytes)
        answer = tester.client.conn.wait_frame(timeout=2, exception=True)
        assert answer == bytes([0x7F, request_bytes[0], expected])


def test_the_fault_log_outlasts_a_restart_until_it_is_cleared(two_faults):
    oil, throttle = dtc(1638, 2), dtc(91, 2)

    def history(tester, code):
        told = raw_history(tester.client, code)
        return int.from_bytes(told[6:10], "big"), int.from_bytes(told[10:14], "big"), told[14]

    def restart(tester):
        tester.unlock()
        tester.client.ecu_reset(1)
        # It starts anew with what is in flash; the log is read entry by entry.
        time.sleep(1.5)

    with Scanner(two_faults) as tester:
        two_faults.wait_until(11.5)
        before = {code: history(tester, code) for code in (oil, throttle)}
        assert all(count == 1 for _, _, count in before.values()), before
        restart(tester)
        assert tester.client.get_number_of_dtc_by_status_mask(0x01).service_data.dtc_count == 0, "mended long ago"
        assert {code: history(tester, code) for code in before} == before
        assert {code.id for code in tester.client.get_dtc_by_status_mask(0x08).service_data.dtcs} >= set(before)
        with machine.Station(two_faults, address=0xF8) as station:
            pgn, data = station.ask(0xFECB)
            assert pgn == 0xFECB and len(data) >= 10, "DM2 tells both"
        tester.client.change_session(DEFAULT)
        assert refusal(lambda: tester.client.clear_dtc(oil)) == NOT_IN_SESSION
        tester.unlock()
        tester.client.clear_dtc(oil)
        time.sleep(3.0)
        restart(tester)
        assert history(tester, oil) == (0, 0, 0), "cleared in flash, too"
        assert history(tester, throttle) == before[throttle]
