"""Ways of gestures, given moments: they lead where the gestures lead when no time passes."""

from __future__ import annotations

from hypothesis import example, given, reject
from hypothesis import strategies as st

from knobmenu import Acceleration, Design, Device, Home, Idle, Knob, Menu, Number, Readout
from knobmenu.analysis.cost.gestures import DOUBLE, HOLD, PRESS, Gesture, perform_all, time_gestures
from knobmenu.machine.state import make_initial_state, strip_time
from tests.strategies import designs

Way = list[Gesture]

HURRIED = Design(
    name="Hurried",
    knob=Knob(acceleration=[Acceleration(faster_than_ms=101, times=5)]),
    settings=[Number(key="level", label="Level", low=0, high=9, initial=0)],
    menus=[Menu(key="main", label="Menu", entries=["level", "probe", "back"])],
    readouts=[Readout(key="probe", label="Probe")],
    home=Home(press="main", turn="level"),
    idle=Idle(after_ms=500),
)
"""It idles half a second after the last gesture, however often it reports in that time."""

REPORTED = [Gesture("report", value, key="probe") for value in range(1, 8)]


@st.composite
def ways(draw: st.DrawFn) -> tuple[Design, Way]:
    """A design, and gestures that its knob and its readouts can do."""
    design = draw(designs())
    kinds = [st.just(PRESS), st.just(HOLD), st.builds(Gesture, st.just("turn"), st.sampled_from((-4, -1, 1, 4, 9)))]
    if design.knob.double_press_ms:
        kinds.append(st.just(DOUBLE))
    kinds += [
        st.builds(Gesture, st.just("report"), st.integers(-3, 3), key=st.just(part.key)) for part in design.readouts
    ]
    return design, draw(st.lists(st.one_of(kinds), max_size=12))


@given(ways())
@example((HURRIED, [Gesture("turn", 1), PRESS, *REPORTED[:2], Gesture("turn", 4)]))
@example((HURRIED, [PRESS, *REPORTED, Gesture("turn", 1)]))
def test_a_way_with_moments_leads_where_it_leads_when_no_time_passes(story: tuple[Design, Way]) -> None:
    design, way = story
    start = make_initial_state(design)
    try:
        events = time_gestures(design, start, way)
    except ValueError:  # it idles sooner than its knob can be turned slowly
        reject()
    device = Device(design)
    device.tell_all(events)
    end, _ = perform_all(design, start, way)

    assert strip_time(device.state) == strip_time(end)
