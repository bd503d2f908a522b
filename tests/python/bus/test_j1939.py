"""can-j1939 meets the controller: claim, fault messages, requests."""

import can
import j1939

import machine
from machine import CONTROLLER, Station, Scanner, wait_for

DM1, DM2, DM3, DM11 = 0xFECA, 0xFECB, 0xFECC, 0xFED3
COMPONENT, SOFTWARE, CLAIM, ENGINE = 0xFEEB, 0xFEDA, 0xEE00, 0xF004
ACKNOWLEDGEMENT = 0xE800
OIL_TEMPERATURE, HAND_THROTTLE = (1638, 2), (91, 2)


def codes(data):
    """SPN, FMI and count of each code, as can-j1939 reads them."""
    found = []
    for start in range(2, len(data) - 3, 4):
        dtc = j1939.DTC(dtc=int.from_bytes(data[start : start + 4], "little"))
        if dtc.spn or dtc.fmi:
            found.append((dtc.spn, dtc.fmi, dtc.oc))
    return found


def test_faults_come_as_dm1_one_in_a_frame_two_by_the_transport_protocol_and_go(two_faults):
    with Station(two_faults) as station:
        lists = []
        dm1 = j1939.Dm1(station.application)
        dm1.subscribe(lambda source, lamps, codes, timestamp: lists.append((source, lamps, codes)))

        def active(*expected):
            def found():
                for source, lamps, codes in list(lists):
                    given = [(code["spn"], code["fmi"]) for code in codes if code["spn"]]
                    if source == CONTROLLER and given == list(expected):
                        return lamps
                return None

            return wait_for(found, 12)

        lamps = active(OIL_TEMPERATURE)
        assert (lamps["awl"], lamps["rsl"]) == (j1939.DtcLamp.ON, j1939.DtcLamp.OFF), lamps
        active(OIL_TEMPERATURE, HAND_THROTTLE)
        # In one frame and by the transport protocol: both were sent.
        sizes = {len(data) for pgn, data in station.messages if pgn == DM1}
        assert {8, 10} <= sizes, sizes
        two_faults.wait_until(7.5)
        lists.clear()
        active()
        pgn, data = station.ask(DM2)
        assert pgn == DM2
        assert [code[:2] for code in codes(data)] == [OIL_TEMPERATURE, HAND_THROTTLE]
        assert all(count == 1 for _, _, count in codes(data))


def test_requests_are_answered_or_refused(permitted):
    with Station(permitted) as station:
        assert station.ask(SOFTWARE)[1][:1] == b"\x01"
        pgn, data = station.ask(COMPONENT)
        assert (pgn, data) == (COMPONENT, b"Tarnbrook*Q36*1*Q36-S-100*")
        assert station.ask(COMPONENT, destination=255)[1] == data, "to all, by broadcast"
        pgn, data = station.ask(ENGINE)
        assert (pgn, data[0], data[4]) == (ACKNOWLEDGEMENT, 1, machine.TOOL), "not ours to tell"
    # can-j1939 keeps claims to itself.
    with permitted.bus() as bus:
        bus.send(can.Message(arbitration_id=0x18EAFFF1, data=CLAIM.to_bytes(3, "little")))
        frames = iter(lambda: bus.recv(1), None)
        claim = next(frame for frame in frames if frame.arbitration_id == 0x18EEFF00 | CONTROLLER)
        name = j1939.Name(bytes=claim.data)
        assert (name.identity_number, name.industry_group, name.arbitrary_address_capable) == (1, 3, 1)


def test_histories_are_cleared_by_dm3_and_dm11_only_with_access(two_faults):
    with Station(two_faults) as station, Scanner(two_faults) as tester:
        two_faults.wait_until(9.5)
        for pgn in (DM3, DM11):
            answer, data = station.ask(pgn)
            assert (answer, data[0]) == (ACKNOWLEDGEMENT, 2), "access denied"
        assert len(codes(station.ask(DM2)[1])) == 2
        tester.unlock()
        with Station(two_faults, address=0xF1) as stranger:
            assert stranger.ask(DM11)[1][0] == 2, "the session is another tester's"
        j1939.Dm11(station.application).request_clear_all(CONTROLLER)
        positive = [(ACKNOWLEDGEMENT, bytes([0, 255, 255, 255, machine.TOOL, 0xD3, 0xFE, 0x00]))]
        wait_for(lambda: set(positive) & set(station.messages), 3)
        assert codes(station.ask(DM2)[1]) == []
