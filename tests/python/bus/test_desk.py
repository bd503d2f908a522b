"""The desk program as the tester: over TCP, and over a serial adaptor."""

import json
import os
import pty
import socket
import subprocess
import threading
import tty

import pytest

import machine


class Adaptor:
    """A terminal device behind which a bus on TCP lies, as a serial CAN adaptor is one."""

    def __init__(self, served):
        host, port = served.channel.removeprefix("socket://").rsplit(":", 1)
        self.bus = socket.create_connection((host, int(port)))
        self.end, device = pty.openpty()
        # As the system has it before a tool opens it; the tool must set it as it needs it.
        tty.setcbreak(device)
        self.path, self.device = os.ttyname(device), device
        self.ways = [threading.Thread(target=way, daemon=True) for way in (self.to_bus, self.to_tool)]
        for way in self.ways:
            way.start()

    def to_bus(self):
        try:
            while piece := os.read(self.end, 4096):
                self.bus.sendall(piece)
        except OSError:
            pass

    def to_tool(self):
        try:
            while piece := self.bus.recv(4096):
                os.write(self.end, piece)
        except OSError:
            pass

    def close(self):
        self.bus.shutdown(socket.SHUT_RDWR)
        os.close(self.device)
        # The system gives a closed number to whoever asks next, be it the output of the next test's program: no thread may
        # still write to it.
        for way in self.ways:
            way.join(5)
            assert not way.is_alive()
        self.bus.close()
        os.close(self.end)


@pytest.fixture(params=["tcp", "serial"])
def place(request, permitted):
    if request.param == "tcp":
        yield "tcp:" + permitted.channel.removeprefix("socket://")
    else:
        adaptor = Adaptor(permitted)
        yield adaptor.path
        adaptor.close()


def desk(place, *words):
    command = [machine.PROGRAM, "unit", *words, "--at", place]
    return subprocess.run(command, capture_output=True, text=True, timeout=30)


def test_all_parameters_are_saved_and_differ_from_the_unit_in_nothing(place, tmp_path):
    file = tmp_path / "unit.parameters"
    saved = desk(place, "save", str(file))
    assert saved.returncode == 0, saved.stderr
    lines = [line.split("#")[0].split("=") for line in file.read_text().splitlines()]
    names = [line[0].strip() for line in lines if len(line) == 2]
    assert names == [row["parameter"] for row in machine.sheet("parameters")]
    restored = desk(place, "restore", str(file))
    assert restored.returncode == 0 and restored.stdout == "nothing differs\n", restored.stderr


def test_a_flaw_in_a_file_is_told_with_its_line_and_nothing_is_written(place, tmp_path):
    file = tmp_path / "flawed.parameters"
    file.write_text("drive_stop = 700 ms\ndrive_stop_ = 700 ms\n")
    refused = desk(place, "restore", str(file), "--yes")
    assert refused.returncode != 0
    # The sentence is broken into lines where it is longer than one.
    assert "flawed.parameters, line 2: there is no parameter `drive_stop_`" in " ".join(refused.stderr.split())


def test_values_and_faults_are_told_as_json(place):
    shown = desk(place, "show", "drive_stop", "drive_neutral", "--json")
    assert shown.returncode == 0, shown.stderr
    values = {row["name"]: (row["kind"], row["value"]) for row in json.loads(shown.stdout)}
    assert values["drive_stop"] == ("parameter", 1000.0)
    assert values["drive_neutral"] == ("signal", "yes")
    assert desk(place, "faults", "--json").returncode == 0


def test_a_place_where_nothing_is_says_what_to_do():
    refused = desk("/dev/no_such_adaptor", "who")
    assert refused.returncode != 0 and "--at" in refused.stderr
