import pytest

import machine


@pytest.fixture(scope="session", autouse=True)
def nothing_is_left_behind():
    yield
    for served in list(RUNNING):
        served.kill()


RUNNING = []


def serve(scenario):
    served = machine.Served(scenario)
    RUNNING.append(served)
    yield served
    RUNNING.remove(served)
    assert served.end() == ""


@pytest.fixture(scope="module")
def permitted():
    """A machine that is permitted to move and stands."""
    for served in serve("permitted"):
        served.wait_until(3.5)
        yield served


@pytest.fixture
def own_machine():
    """The same, for a test that leaves traces."""
    for served in serve("permitted"):
        served.wait_until(3.5)
        yield served


@pytest.fixture
def two_faults():
    yield from serve("two_faults")


@pytest.fixture
def lever_held():
    yield from serve("lever_held")


@pytest.fixture
def lever_lost():
    yield from serve("lever_lost")


@pytest.fixture
def engine_loaded():
    yield from serve("engine_loaded")


@pytest.fixture
def lever_moved():
    yield from serve("lever_moved")


@pytest.fixture
def straight_drive():
    yield from serve("straight_drive")
