"""Any job of things that a bench could write down, sense or nonsense: it has a plan, and what contradicts itself is told."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from app.reassembly.planner import RULES, Cavity, End, Job, Power, Proof, Stack, Thing, check, plan, power_states, way_back_of

KINDS = ["valve", "output valve", "valve rectifier", "valve base", "choke", "mains transformer", "output transformer",
         "tag board", "printed board", "bias board", "IEC inlet", "fuse holder", "fuse", "switch", "pot", "jack",
         "jack, isolated", "loudspeaker", "reverb tank", "cover", "screening box", "earth stud", "lead", "bolt",
         "wood screw", "standoff", "capacitor clamp", "fascia", "mains wire live", "protective earth conductor",
         "resistor", "can capacitor", "heater pair", "cabinet", "mains cord", "line-to-chassis capacitor",
         "something nobody has a word for"]
ACTS = [None, (), ("fit",), ("fit", "tight"), ("prep", "fit", "snug", "tight", "trim"), ("snug", "tight")]
WORDS = ["earth pin to chassis", "insulation live and neutral to earth", "isolated jacks", "HT to 0 V, cold",
         "lamp-limited, no valves", "bias at each grid", "HT unloaded", "anodes and cathodes", "cathode current",
         "discharge", "hidden side", "safety test", "?"]


@st.composite
def jobs(draw: st.DrawFn) -> Job:
    names = [f"t{number}" for number in range(draw(st.integers(1, 9)))]
    some = st.sampled_from([*names, "chassis", "unknown"])
    hows = st.sampled_from(["soldered", "plugged", "clamped", "twisted"])
    things = tuple(
        Thing(name, draw(st.sampled_from(["", name, "EL34", "ECC83"])), draw(st.sampled_from(KINDS)), draw(st.sampled_from(ACTS)),
              number, draw(st.sampled_from([None, "top", "under", "inside", "outside"])), None, draw(st.sampled_from([None, "u"])),
              tuple(draw(st.lists(some, max_size=2))), draw(st.none() | some),
              tuple(Stack(tuple(draw(st.lists(st.sampled_from([*names, "nut", "(chassis)", "(body)", "knob"]), max_size=4))))
                    for _ in range(draw(st.integers(0, 1)))),
              tuple(End(draw(some), draw(st.sampled_from("123")), draw(hows), draw(st.sampled_from([None, True, False])))
                    for _ in range(draw(st.integers(0, 3)))),
              draw(st.sampled_from(["refit", "refit", "replace", "new", "hold", "scrap"])))
        for number, name in enumerate(names))
    events = st.tuples(some, st.sampled_from(["fit", "tight", "prove", "join"]))
    proofs = tuple(Proof(f"M{number}", draw(st.sampled_from(WORDS)), after=tuple(draw(st.lists(events, max_size=2))),
                         before=tuple(draw(st.lists(events, max_size=2)))) for number in range(draw(st.integers(0, 3))))
    closes = st.lists(st.tuples(some, st.just("fit")), max_size=1)
    cavities = tuple(Cavity(f"K{number}", "cavity", tuple(draw(st.lists(some, max_size=3))), tuple(draw(closes)))
                     for number in range(draw(st.integers(0, 2))))
    return Job(things, proofs, cavities, draw(st.booleans()))


@given(jobs())
@settings(deadline=None, max_examples=300)
def test_any_job_has_a_plan_and_every_contradiction_is_told(job: Job) -> None:
    back = way_back_of(job)
    made = plan(back.steps)
    assert check(made.steps, back.steps) == ()
    assert {step.id for step in made.steps} == back.origins.keys()
    place = {step.id: number for number, step in enumerate(made.steps)}
    for step in back.steps:
        for reason in step.reasons:
            assert place[reason.before] < place[step.id] and reason.rule in RULES
    of = {origin: step for step, origin in back.origins.items()}
    for thing in job.things:
        acts = [place[of[role, thing.id]] for role in ("prep", "fit", "snug", "tight", "trim") if (role, thing.id) in of]
        assert acts == sorted(acts)
        assert thing.goes_back or not [origin for origin in of if origin[1] == thing.id and origin[0] in ("fit", "tight")]
    for conflict in back.conflicts:
        assert conflict.cure and len(conflict.members) == len(conflict.reasons) > 1 and conflict.left_out in conflict.reasons
        assert "contradict" in str(conflict)
    assert set(power_states(made.steps).values()) <= set(Power)
