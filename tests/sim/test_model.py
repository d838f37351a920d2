"""The Mesa model advances the same arrays by the same rules, and speaks Mesa's language."""

from __future__ import annotations

import gc
import weakref
from pathlib import Path

import mesa
import pytest

from sim.check import check_file
from sim.engine import History
from sim.model import Fish, TankModel

FOUR_FOOT = Path(__file__).parents[2] / "scenarios" / "convict-four-foot.toml"


@pytest.fixture(scope="module")
def checked():
    return check_file(FOUR_FOOT)


def test_stepping_the_model_is_the_same_history_as_the_engine(checked):
    model = TankModel(checked.scenario, checked.layout, run=3)
    for _ in range(700):
        model.step()
    history = History(checked.scenario, checked.layout, run=3)
    history.strides(700)
    assert model.state.to_bytes() == history.state.to_bytes()
    assert model.day == history.day


def test_a_data_collector_reads_the_agents(checked):
    model = TankModel(checked.scenario, checked.layout, strides_per_step=50)
    collector = mesa.DataCollector(
        model_reporters={"day": lambda m: m.day}, agent_reporters={"fear": lambda a: a.fear}
    )
    for _ in range(5):
        model.step()
        collector.collect(model)
    days = collector.get_model_vars_dataframe()["day"]
    assert days.is_monotonic_increasing
    assert days.iloc[-1] > days.iloc[0]
    assert len(collector.get_agent_vars_dataframe()) == 5 * len(model.fish)
    assert len(model.agents) == len(checked.layout.members)


def test_a_fish_reads_and_writes_its_row(checked):
    model = TankModel(checked.scenario, checked.layout)
    fish = model.fish[0]
    fish.fear = 0.75
    assert model.state.fish.fear[0] == 0.75
    model.state.fish.skin[0] = 0.1
    model.state.fish.scales[0] = 0.2
    assert fish.injury == pytest.approx(0.3)
    assert fish.chases_given == 0
    assert fish.act_in_words == "swimming"
    with pytest.raises(AttributeError, match="no_such_field"):
        _ = fish.no_such_field


def test_the_model_stops_running_at_its_end_and_reports(checked):
    scenario = checked.scenario.model_copy(update={"days": 1.0})
    model = TankModel(scenario, checked.layout)
    model.advance()
    assert not model.running
    assert model.day >= 1.0
    assert model.outcome().row["awake_h"][0] == pytest.approx(scenario.tank.light_hours, rel=0.01)


def test_it_can_be_subclassed(checked):
    class Calm(TankModel):
        def step(self) -> None:
            super().step()
            for fish in self.agents:
                fish.fear = 0.0

    model = Calm(checked.scenario, checked.layout, strides_per_step=200)
    for _ in range(10):
        model.step()
    assert all(fish.fear == 0.0 for fish in model.agents)
    assert all(isinstance(fish, Fish) for fish in model.agents)


def test_a_closed_model_is_freed(checked):
    model = TankModel(checked.scenario, checked.layout)
    gone = weakref.ref(model)
    model.close()
    del model
    gc.collect()
    assert gone() is None
