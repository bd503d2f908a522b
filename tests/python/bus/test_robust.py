"""Floods, nonsense, frames out of order: levers are heard all the time, and afterwards the server answers."""

import random
import time

import can

from machine import Scanner, wait_for

SEED = 20_260_101


def nonsense(generator):
    group = generator.choice([0xDA27, 0xDB33, 0xEA27, 0xEAFF, 0xEB27, 0xECFF, 0xEC27, 0xE8FF, 0xFECA])
    source = generator.choice([0xF9, 0xF1, 0x27, 0x21 if group == 0xFECA else 0x80])
    data = bytes(generator.choice([0x02, 0x10, 0x21, 0x22, 0x27, 0x30, generator.randrange(256)]) for _ in range(8))
    length = generator.choice([8, 8, 8, 3, 0])
    return can.Message(arbitration_id=0x18000000 | group << 8 | source, is_extended_id=True, data=data[:length])


def test_a_flood_of_nonsense_costs_neither_levers_nor_permission_nor_the_server(own_machine):
    generator = random.Random(SEED)
    with Scanner(own_machine, source=0xF2) as watcher:
        with own_machine.bus() as bus:
            end = time.monotonic() + 6
            sent = 0
            while time.monotonic() < end:
                bus.send(nonsense(generator))
                sent += 1
                if sent % 20 == 0:
                    time.sleep(0.01)
        assert sent > 2000, sent
        # A bus of 250 kbit/s takes 15 frames in 10 ms: what waits behind the adaptor goes out first.
        time.sleep(1.5 + max(0.0, sent / 1_500 - 6))
        watcher.client.conn.empty_rxqueue()
        assert [watcher.signal(f"{side}_lever_state") for side in ("left", "right")] == ["none", "none"]
        assert watcher.signal("permission_drive") == "yes"
        active = watcher.client.get_dtc_by_status_mask(0x08).service_data.dtcs
        # Only the overrun may have been told: SPN 520208, FMI 0.
        assert {code.id for code in active} <= {0x10F0E0}, [hex(code.id) for code in active]


def test_a_message_out_of_order_is_dropped_and_the_next_one_is_answered(permitted):
    with Scanner(permitted) as tester:
        first = can.Message(arbitration_id=0x18DA27F9, data=bytes([0x10, 0x14, 0x22, 1, 1, 1, 2, 1]))
        skipped = can.Message(arbitration_id=0x18DA27F9, data=bytes([0x23, 3, 1, 4, 1, 5, 1, 6]))
        tester.bus.send(first)
        tester.bus.send(skipped)
        time.sleep(0.1)
        tester.client.conn.empty_rxqueue()
        assert tester.client.tester_present()
        too_long = can.Message(arbitration_id=0x18DA27F9, data=bytes([0x1F, 0xFF, 0x22, 1, 1, 1, 2, 1]))
        tester.bus.send(too_long)
        time.sleep(0.1)
        tester.client.conn.empty_rxqueue()
        assert tester.client.tester_present()


def test_another_unit_with_a_stronger_claim_gets_the_address(own_machine):
    with own_machine.bus() as bus:
        bus.send(can.Message(arbitration_id=0x18EEFF27, is_extended_id=True, data=bytes(8)))

        def moved():
            frame = bus.recv(0.1)
            return frame is not None and frame.arbitration_id & ~0xFF == 0x18EEFF00 and frame.arbitration_id

        assert wait_for(moved, 2) == 0x18EEFF80
