"""The black box: a fault on the machine, read by udsoncan, gone through by the desk program to the same outputs."""

import json
import subprocess

from udsoncan import MemoryLocation

import machine
from machine import ARM_BOX, FREEZE_BOX, Scanner, refusal, wait_for

CONDITIONS, OUT_OF_RANGE, DENIED = 0x22, 0x31, 0x33
HEADER, PART = 48, 224

def part(tester, place, length):
    where = MemoryLocation(address=place, memorysize=length, address_format=32, memorysize_format=16)
    return tester.client.read_memory_by_address(where).service_data.memory_block


def whole(tester):
    """All bytes of the box; its header has the lengths of its three parts at the end."""
    header = part(tester, 0, HEADER)
    assert header[:4] == b"trun" and header[6] == 1, "frozen"
    total = HEADER + sum(int.from_bytes(header[place : place + 4], "little") for place in (36, 40, 44))
    read = b"".join(part(tester, place, min(PART, total - place)) for place in range(0, total, PART))
    assert refusal(lambda: part(tester, total, 1)) == OUT_OF_RANGE
    return read


def gone_through(path, *words):
    told = subprocess.run([machine.PROGRAM, "box", str(path), "--json", *words], capture_output=True, text=True)
    assert told.returncode == 0, told.stderr
    return json.loads(told.stdout)


def test_a_fault_is_kept_read_and_goes_through_here_to_the_same_outputs(lever_lost, tmp_path):
    with Scanner(lever_lost) as tester:
        lever_lost.wait_until(10)
        wait_for(lambda: tester.signal("standstill") == "yes" and tester.signal("drive_neutral") == "yes", 5)
        file = tmp_path / "lever_lost.box"
        file.write_bytes(whole(tester))
    with_desk = tmp_path / "desk.box"
    at = "tcp:" + lever_lost.channel.removeprefix("socket://")
    words = [machine.PROGRAM, "unit", "box", "--at", at, "--to", str(with_desk)]
    desk = subprocess.run(words, capture_output=True, text=True)
    assert desk.returncode == 0, desk.stderr
    assert "after the fault LeftLeverLost" in desk.stdout
    assert with_desk.read_bytes() == file.read_bytes(), "the desk program reads the same"
    told = gone_through(file)
    assert told["first_other"] is None and told["damaged_at"] is None
    assert "LeftLeverLost" in told["cause"], told["cause"]
    fault = told["fault_period"]
    assert told["periods"] - fault == 51, "half a second behind the fault"
    assert told["periods"] > 150, "and what led to it"
    here = [row["what"] for row in told["happened"] if row["period"] == fault]
    assert any("LeftLeverLost comes" in what for what in here), here
    assert any(what.startswith("drive: not permitted") for what in here), here
    (before,) = gone_through(file, "--at", str(fault - 1))["shown"]
    assert before["groups"]["drive"] == "permitted" and not before["faults"]


def test_a_box_that_records_is_frozen_by_a_tester_with_a_level_and_armed_again(own_machine, tmp_path):
    with Scanner(own_machine) as tester:
        assert refusal(lambda: part(tester, 0, HEADER)) == CONDITIONS, "it records"
        tester.client.change_session(3)
        assert refusal(lambda: tester.client.start_routine(FREEZE_BOX)) == DENIED
        tester.unlock()
        tester.client.start_routine(FREEZE_BOX)
        file = tmp_path / "frozen.box"
        file.write_bytes(whole(tester))
        told = gone_through(file)
        assert told["first_other"] is None and told["cause"] == "by a tester"
        tester.unlock()
        tester.client.start_routine(ARM_BOX)
        assert refusal(lambda: part(tester, 0, HEADER)) == CONDITIONS, "it records anew"
        tester.client.change_session(1)
