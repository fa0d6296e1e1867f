import pytest

from aquacalc.catalogue import data_dir
from aquacalc.plan import read_plan


@pytest.fixture(scope="session")
def greenhouse():
    return read_plan(data_dir() / "plans" / "greenhouse.toml")
