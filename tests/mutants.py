"""Faults planted by hand, one at a time in a scratch copy, and the tests that must fail: `python -m tests.mutants [name …]`.

Some twenty minutes, so by hand. `tests/MUTANTS.md` is what it prints: which test killed which, or that one survived.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
COPIED = ("app", "templates", "static", "migrations", "demo_data", "tests", "tagstrip", "pyproject.toml", "README.md",
                          "CHANGELOG.md")
EVERY_WRITE, HOSTILE = "tests/journal/test_every_write.py", "tests/test_hostile_text.py"
STALE = "tests/kernel/test_stale_everywhere.py"
ONE_THING = "tests/orders/test_held_for_one_thing.py"
SPACES = "tests/reassembly/test_planner_spaces.py"
SYNCS, AT_ONCE, ROUND = "tests/faults/test_order_of_syncs.py", "tests/faults/test_at_once.py", "tests/orders/test_ways_round.py"


@dataclass(frozen=True)
class Mutant:
    """What is changed where (each `old` stands there once at least; all are changed), and the test files that are asked."""

    name: str
    file: str
    changes: tuple[tuple[str, str], ...]
    tests: tuple[str, ...]


def _one(name: str, file: str, old: str, new: str, *tests: str) -> Mutant:
    return Mutant(name, file, ((old, new),), tests)


MUTANTS = (
    _one("a pair is told where one fault explains the readings", "app/electrics/circuit/pairs.py",
         "any(misfit(bench, one) <= fits for one in found.best)", "False", "tests/electrics/test_circuit_pairs.py"),
    _one("a pair that explains nothing is told", "app/electrics/circuit/pairs.py", "if misfit(bench, one) <= fits][:_TOLD]",
         "][:_TOLD]", "tests/electrics/test_circuit_pairs.py"),
    _one("ripple is not carried to the sheet's mains", "app/circuits/rules/compare.py", "calculated.node.mains else tap_v",
         "calculated.node.ac else tap_v", "tests/circuits/test_ripple.py"),
    _one("a dried reservoir's ripple lies in its band", "app/circuits/rules/ripple.py", "math.exp(spread) + LEADS_V",
         "math.exp(4.0 * spread) + LEADS_V", "tests/circuits/test_ripple.py"),
    Mutant("power at 80 Hz is judged by what 1 kHz gives", "app/powerup/queries.py",
           (("    if entry.item == AT_1K:\n", "    if entry.item.startswith(AT_1K):\n"),
            ("run.expected_w if entry.item == AT_1K else None", "run.expected_w")), ("tests/powerup/test_service.py",)),
    _one("what is only kept counts as a go", "app/powerup/rules/course.py", "return Go.NOT_JUDGED if (entry.left or item.kept)",
         "return (Go.GO if item.kept else Go.NOT_JUDGED) if (entry.left or item.kept)", "tests/powerup/test_service.py"),
    _one("a held form is shown to who signs in next", "app/kernel/held_forms.py", "    if found.person_id != person_id:",
         "    if False:", "tests/kernel/test_held_forms.py"),
    _one("a form of another site is taken", "app/kernel/origin.py",
         "        return told.lower() == request.host_url.rstrip(\"/\").lower()", "        return True",
         "tests/kernel/test_held_forms.py"),
    Mutant("an address that was typed names a photo", "app/documents/rules.py",
           (('(?<=<img src=")paper:photo', "paper:photo"), (r'\.jpg(?=")', r"\.jpg")),
           ("tests/documents/test_typed_addresses.py",)),
    _one("a body may come as slowly as it likes", "app/door/limits.py",
         "return min(self.grace + here / self.least, self.longest)", "return 30.0", "tests/door/test_front.py"),
    _one("a limit for all of it stands though some was declined", "app/quote/views/answering.py",
         "    if not declined or form.ceiling_minor.data", "    if True or form.ceiling_minor.data", "tests/quote/test_pages.py"),
    _one("whoever fetches an amp reads nothing of what was declined", "app/handover/queries.py",
         "tuple(quotes.hazards_not_cured(order))", "()", "tests/handover/test_signed.py"),
    _one("a known amp is in for something else unless somebody says so", "app/intake/forms/records.py",
         "        if self.must_say and not self.come_back_of.raw_data:", "        if False:", "tests/intake/test_pages.py"),
    _one("an ended repair has hours to come", "app/hours/panel.py", "    if not order.is_open:", "    if False:",
         "tests/hours/test_pages.py"),
    _one("bills may begin anew", "app/shop/service.py", "    if last is not None:\n        raise BadInput(f\"{FIRSTS",
         "    if False:\n        raise BadInput(f\"{FIRSTS", "tests/shop/test_settings.py"),
    _one("an amp that left last week counts as one that did not come back", "app/bench/figures/rules/come_backs.py",
         "(today - self.left_on).days >= WINDOW", "True", "tests/bench/test_figures_rules.py"),
    _one("two people at once make a day longer", "app/bench/figures/rules/times.py", "    if running[3]:",
         "    if running[3] == 1:", "tests/bench/test_figures_rules.py"),
    _one("limits count as done unconfirmed", "app/bench/first_setup/rules.py",
         "known.profile_confirmed and not known.profile_to_look_at and bool(known.profile)", "bool(known.profile)",
         "tests/bench/test_first_setup.py"),
    _one("an instrument out of date counts in the first set-up", "app/bench/first_setup/queries.py",
         "if one.standing(today).counts", "if one", "tests/bench/test_first_setup.py"),
    _one("a paper is made without a logo that is lost", "app/documents/make.py",
         "        raise PhotoLost(_LOGO_LOST) from lost", "        return {}", "tests/documents/test_logo.py"),
    _one("a PIN opens what asks for the password", "app/access/service.py", "password_at=now if by_password else None",
         "password_at=now", "tests/access/test_password_first.py", "tests/access/test_pins.py"),
    _one("a password counts for ever", "app/access/rules.py", "timedelta(0) <= now - given <= PASSWORD_LASTS", "True",
         "tests/access/test_password_first.py"),
    _one("a password code opens twice", "app/access/service.py",
         "by=Actor(person.id, person.name, agent), now=now)\n    _end_codes(person, now)",
         "by=Actor(person.id, person.name, agent), now=now)", "tests/access/test_password_codes.py"),
    _one("a withdrawn badge opens", "app/access/service.py",
         "token_hash(as_typed(secret)),\n                                                    Badge.withdrawn_at.is_(None)))",
         "token_hash(as_typed(secret))))", "tests/access/test_pins.py"),
    _one("an ended passkey opens", "app/access/passkeys.py", "found.ended_at is None and found.person.active",
         "found.person.active", "tests/access/test_passkeys.py"),
    _one("a copied passkey opens", "app/access/passkeys.py",
         "(found.counter or signed.counter) and signed.counter <= found.counter", "False", "tests/access/test_passkeys.py"),
    _one("a challenge counts again", "app/access/challenges.py", "given.open.pop((what, page), None)\n    return",
         "given.open.get((what, page))\n    return", "tests/access/test_passkeys.py"),
    _one("scans are not counted", "app/photos/picture.py", "if kind is Kind.JPEG and scans_of(data, MOST_SCANS) > MOST_SCANS:",
         "if False:", "tests/photos/test_picture.py"),
    _one("a supply is calculated while a load of it is not known", "app/circuits/rules/wiring.py",
         "        if one.name in lacking and (fields or one.name in tree):", "        if False:", "tests/circuits/test_wiring.py"),
    _one("a valve beyond what it stands is shown as expected", "app/circuits/rules/work.py",
         "    if limits.anode_w is not None and watts > _BEYOND * limits.anode_w:", "    if False:", "tests/circuits/test_work.py"),
    _one("a stage is calculated while one on its cathode resistor is not known", "app/circuits/rules/wiring.py",
         "        if other.shares == block.name and other.name in lacking:", "        if False:",
         "tests/circuits/test_pentode_and_shared.py"),
    _one("a preamp pentode is taken for an output valve", "app/circuits/rules/wiring.py",
         '            if kind == "pentode" and found.small:', "            if False:", "tests/circuits/test_pentode_and_shared.py"),
    _one("a reading in circuit becomes a part's value", "app/circuits/queries.py", "one.kind.unit, one.nominal, one.measured_out,",
         "one.kind.unit, one.nominal, one.measured_in,", "tests/circuits/test_service.py"),
    _one("a finished power-up stands after another output valve", "app/powerup/hands.py",
         "*((one.at, one.why) for one in valve_changes(run))]", "]", "tests/powerup/test_what_it_proves.py"),
    _one("a bias by limits from memory is go", "app/powerup/rules/course.py",
         "return Go.MEMORY if found is Go.GO and from_memory else found", "return found", "tests/powerup/test_service.py"),
    _one("a quarantined meter's reading stays go", "app/powerup/rounds.py",
         "    if reading.instrument.state is State.QUARANTINED:", "    if False:", "tests/powerup/test_what_it_proves.py"),
    _one("bias set colder is watched from before", "app/powerup/rounds.py", "if is_set_colder(read[place - 1], read[place])), 0)",
         "if False), 0)", "tests/powerup/test_what_it_proves.py"),
    _one("a recording that stands still is quiet", "app/sound/rules.py",
         "== np.median(recorded.samples))) > STANDS_STILL:", "== np.median(recorded.samples))) > 2:",
         "tests/sound/test_recordings.py"),
    _one("good until yesterday needs no words", "app/measuring/service/calibrations.py",
         "    if last is not None and facts.good_on > last:", "    if False:", "tests/measuring/test_calibrations.py"),
    _one("a pass by an instrument that did not count is one", "app/measuring/models.py",
         "        return self.verdict is Verdict.PASS and self.standing.counts", "        return self.verdict is Verdict.PASS",
         "tests/measuring/test_service.py"),
    _one("a later reading that failed settles a doubt", "app/measuring/service/calibrations.py",
         "    if again is not None and not again.passed:", "    if False:", "tests/measuring/test_calibrations.py"),
    _one("a reading in doubt is expected of other amps", "app/measuring/queries.py",
         '"=", ~_corrected(), ~in_doubt)', '"=", ~_corrected())', "tests/measuring/test_calibrations.py"),
    _one("levels that nobody knows are compared", "app/sound/queries.py",
         "        if self.found.unit == UNKNOWN_LEVEL:", "        if False:", "tests/sound/test_recordings.py"),
    _one("an overdue meter's reading at a node is a pass", "app/circuits/rules/compare.py",
         "    if against and verdict is Verdict.PASS:", "    if False:", "tests/circuits/test_compare.py"),
    _one("work that nobody agreed to starts unasked", "app/hours/service/timers.py",
         "if (why := why_asked(order, found, now)) and not allowed_by.strip():",
         "if (why := why_asked(order, found, now)) and False:",
         "tests/hours/test_service.py"),
    _one("a second tablet switches a timer it did not see", "app/hours/service/timers.py",
         "if (running.id if running else 0) != seen:", "if False:", "tests/hours/test_service.py"),
    _one("the warning waits for the limit", "app/hours/rules/outlook.py",
         "if spent * 100 >= ceiling * limits.warn_percent - 1e-6:", "if spent >= ceiling:", "tests/hours/test_rules.py"),
    _one("a corrected entry counts beside its correction", "app/hours/queries/tasks.py",
         "    return [one for one in entries if one.id not in replaced]", "    return list(entries)",
         "tests/hours/test_service.py"),
    _one("confirming a profile compares no version", "app/safety/views/profiles.py", "                check_fresh(found)\n",
         "", STALE),
    _one("waste handed over is not in the journal", "app/findings/service/waste.py",
         "    record(Event.WASTE_TRANSFERRED, waste", "    dict(waste=waste", EVERY_WRITE),
    _one("another technician is not in the journal", "app/reassembly/service/counts.py",
         "    record(Event.TECHNICIAN_CHANGED, handover, by=by, now=now, after=told)\n", "", EVERY_WRITE),
    _one("a row that was altered is not compared with its seal", "app/journal/seals.py", "            elif kept != there:",
         "            elif False:", "tests/journal/test_seals.py"),
    _one("a row that was altered and saved again is forgotten", "app/journal/seals.py", "    yield from otherwise.items()\n", "",
         "tests/journal/test_seals.py"),
    _one("a migration makes damage good", "app/migrate.py", "but=untrue, now=", "but=set(), now=", "tests/journal/test_seals.py",
         "tests/migrations/test_forward.py"),
    _one("a dropped trigger is not missed", "app/journal/triggers.py", "if there.get(name) != told)",
         "if there.get(name, told) != told)", "tests/journal/test_seals.py"),
    _one("a damaged photo is printed", "app/photos/store.py", "        if hashlib.sha256(found).hexdigest() != sha256:",
         "        if False:", "tests/backup/test_damaged_shop.py", "tests/documents/test_sheets.py"),
    _one("a backup of a damaged shop ends well", "app/commands/keeping.py", "    if made.troubles:\n        raise RuleBroken(f",
         "    if False:\n        raise RuleBroken(f", "tests/backup/test_damaged_shop.py"),
    _one("a link in an archive is taken", "app/backup/tar.py", "header[156:157] not in _PLAIN or ", "",
         "tests/backup/test_hostile_archives.py"),
    _one("a backup of a damaged shop counts as good", "app/backup/rotation.py", "        newer += good[name]", "        newer += 1",
         "tests/backup/test_rotation.py"),
    _one("an altered history fits its anchor", "app/backup/anchor.py", "        elif there == line.head:", "        elif there:",
         "tests/backup/test_attacked.py"),
    _one("a part rated by a withdrawn calculation is here", "app/parts/gate.py",
         "for part in queries.called_for(order) for item in (*_rated_by_none(part), *_lacks(part))]",
         "for part in queries.called_for(order) for item in _lacks(part)]", "tests/kept/test_rated_again.py"),
    _one("what no cavity's count saw needs no last count", "app/reassembly/planner/closures.py",
         "for key in ends) or self._unseen():", "for key in ends):", "tests/reassembly/test_every_piece_weighed.py"),
    _one("a count weighs nothing", "app/reassembly/queries/work.py", "and is_own(what) and name not in first)", "and is_own(what))",
         "tests/reassembly/test_counts.py", "tests/reassembly/test_way_back.py"),
    _one("a figure that differs is kept for the next count", "app/reassembly/queries/due.py",
         "return counted == self.expected and (bool(self.bag) or not counted)", "return True", "tests/reassembly/test_counts.py"),
    _one("a paper says that no work is left", "app/hours/queries/outlook.py", "return Bar(gone, None, gone,",
         "return Bar(gone, 0.0, gone,", "tests/hours/test_service.py"),
    _one("the hours are a black block on paper", "templates/components/hours_bar.html", '<rect class="hours-room" fill="none"',
         '<rect class="hours-room"', "tests/documents/test_drawn_on_paper.py"),
    _one("a bill may be above what was agreed", "app/money/rules.py", "    if billed_minor + total_minor > (agreed_minor or 0):",
         "    if False:", "tests/money/test_rules.py"),
    _one("a refund needs no credit", "app/money/rules.py", "        return stands.held_minor, ", "        return 10**9, ",
         "tests/money/test_rules.py"),
    _one("a come-back is charged before it is judged", "app/money/service.py", "    if pays is not Pays.CUSTOMER:", "    if False:",
         "tests/money/test_service.py"),
    _one("declined work is in the next total", "app/quote/queries.py", "if asked(line.group) and line.id not in declined]",
         "if asked(line.group)]", "tests/quote/test_frozen.py"),
    _one("a declined item is worked on by anybody's word", "app/hours/service/timers.py",
         "    if found.key.role is Role.ITEM and not found.agreed:", "    if False:", "tests/quote/test_limit.py"),
    _one("an unrepaired amp owes no fee", "app/handover/rules.py", "    if facts.fees and not facts.settled:", "    if False:",
         "tests/handover/test_falls_through.py"),
    _one("nobody hears what is still off an amp that leaves", "app/handover/signed.py", "if facts.still_off else []),",
         "if False else []),", "tests/handover/test_falls_through.py"),
    _one("a task on no quote starts unasked", "app/hours/queries/work.py", "else _not_agreed(piece)\n\n\ndef _not_agreed",
         "else piece\n\n\ndef _not_agreed", "tests/hours/test_service.py"),
    _one("an early call settles the warning", "app/hours/service/calls.py", "math.floor(bar.spent", "math.ceil(bar.spent",
         "tests/hours/test_service.py"),
    _one("the bond sum says V for Ω", "app/bench/sums/sections/safety.py", "{tell(measured, 'ohm')} was measured",
         "{tell(measured, 'V')} was measured", "tests/sums/test_units.py"),
    _one("an insulation is tested at 500 V across a varistor", "app/measuring/insulation.py",
         "    if conducts and level > REDUCED_V:", "    if False:", "tests/reassembly/test_insulation.py"),
    _one("250 V prove an insulation where nothing conducts", "app/measuring/insulation.py",
         "return min(usual, REDUCED_V) if conducts else usual", "return min(usual, REDUCED_V)",
         "tests/reassembly/test_insulation.py"),
    _one("a multimeter proves an insulation on the way back", "app/reassembly/service/proofs.py",
         "    if instrument.kind not in TESTERS:", "    if False:", "tests/reassembly/test_insulation.py"),
    _one("valves may stay in for the insulation test", "app/reassembly/service/proofs.py",
         "    if not unplugged:", "    if False:", "tests/reassembly/test_insulation.py"),
    _one("the safety test begins without knowing what conducts", "app/safety/service/testing.py",
         "    if here is None:", "    if False:", "tests/safety/test_service.py"),
    _one("power before the bases are looked at", "app/reassembly/planner/usual.py",
         "[key for key in looks if key not in late]", "[]", "tests/reassembly/test_screen.py"),
    _one("the bond's limit is a figure in V", "app/bench/sums/sections/safety.py",
         '"Limit", float(limit), "ohm")', '"Limit", float(limit), "V")', "tests/sums/test_units.py"),
    _one("mains moves HT and screens, and not the bias", "app/electrics/idle_range.py", "vs * factor, vg * factor",
         "vs * factor, vg", "tests/electrics/test_idle_range.py", "tests/sums/test_idle_sums.py"),
    _one("the coldest setting is tried with the most bias", "app/bench/sums/sections/bias.py", "parts_worst.coldest_least_v",
         "parts_worst.coldest_worst_v", "tests/sums/test_idle_sums.py"),
    _one("a stronger valve is no hotter", "app/electrics/valves/fit.py", "entry.model.kg1 / within(", "entry.model.kg1 * within(",
         "tests/electrics/test_idle_range.py"),
    _one("a design-maximum limit is judged at the nominal mains", "app/electrics/idle_range.py", '"design-maximum": 1}',
         '"design-maximum": 0}', "tests/sums/test_idle_sums.py"),
    _one("re-forming heats the can without end", "app/electrics/reforming.py", "    if can_w is not None:", "    if can_w is None:",
         "tests/electrics/test_capacitors.py"),
    _one("an ESR is judged at any frequency", "app/bench/sums/sections/capacitors.py", "> _SAME_HERTZ", "> 1e9 * _SAME_HERTZ",
         "tests/sums/test_asked_in_full.py"),
    _one("a resistor stands any voltage", "app/electrics/resistors.py", "    if by_watt <= body:", "    if by_watt > 0.0:",
         "tests/electrics/test_resistors.py"),
    _one("an example is saved", "app/bench/sums/service.py", "    if worked.examples:", "    if not worked.typed:",
         "tests/sums/test_examples.py"),
    _one("an example has a verdict", "templates/sums/_parts.html", "{% if worked.answer and worked.examples %}",
         "{% if worked.answer and not worked.sum %}", "tests/sums/test_examples.py"),
    Mutant("the trade filter returns Markup", "app/template_globals.py",
           (("    return unbroken(queries.in_shop_words(text))", "    from markupsafe import Markup\n"
             "    return Markup(unbroken(queries.in_shop_words(text)))"),), (HOSTILE,)),
    _one("an unconfirmed bond limit passes a test", "app/safety/service/testing.py",
         "test.unconfirmed = profile.unconfirmed or any(", "test.unconfirmed = profile.unconfirmed and any(",
         "tests/safety/test_service.py"),
    Mutant("no write lock at all", "app/db.py",
           (("    with where.lock:\n        if where.connect_again", "    if True:\n        if where.connect_again"),
            ('"BEGIN IMMEDIATE" if writing else "BEGIN"', '"BEGIN"'),
            ('    if connection.dialect.name == "postgresql":\n        connection.execute(sa.text("SELECT pg_advisory_xact_lock',
             '    if connection.dialect.name == "nothing":\n        connection.execute(sa.text("SELECT pg_advisory_xact_lock')),
           (AT_ONCE,)),
    _one("no lock between processes on SQLite", "app/db.py", '"BEGIN IMMEDIATE" if writing else "BEGIN"', '"BEGIN"', AT_ONCE),
    _one("no advisory lock on PostgreSQL", "app/db.py", "SELECT pg_advisory_xact_lock(:key)", "SELECT :key", AT_ONCE),
    Mutant("no fsync of a photo, a paper or a folder", "app/photos/store.py",
           (("                os.fsync(file.fileno())\n", ""), ("    sync(folder)\n", "    pass\n")), (SYNCS,)),
    _one("a held form's file is not synced", "app/kernel/upload_holding.py", "                sync(folder / one.file)\n", "",
         "tests/faults/test_power_loss.py"),
    _one("a clock in doubt deletes by age", "app/access/clean_up.py", "    if in_doubt():\n", "    if False:\n",
         "tests/access/test_clock_jumps.py"),
    _one("a jump of the clock ends no sign-in", "app/access/clock_jumps.py", "where(SignIn.ended_at.is_(None))",
         "where(SignIn.id < 0)", "tests/access/test_clock_jumps.py"),
    _one("a lost database begins a new shop", "app/config.py", "    if not left:\n", "    if True:\n",
         "tests/commands/test_lost_shop.py"),
    _one("the file is synced, its folder is not", "app/photos/store.py", "        sync_folder(final.parent)\n", "", SYNCS),
    _one("the folder of folders is not synced", "app/photos/store.py", "        sync_folder(self.root)\n", "", SYNCS),
    _one("a backup is not synced", "app/backup/backup.py", "            os.fsync(file.fileno())\n", "            pass\n", SYNCS),
    _one("SQLite does not sync its commits", "app/db.py", "synchronous=FULL", "synchronous=OFF", SYNCS),
    _one("a form counts twice", "app/kernel/saving.py", "            _refuse_repeat(key, mark)\n", "",
         "tests/kernel/test_saving.py"),
    _one("a stale page is not refused", "app/kernel/saving.py", "    raise wrong\n", "    return\n", "tests/kernel/test_saving.py"),
    _one("an altered entry does not show", "app/journal/rules.py",
         'if stands != entry["hash"] and stands != erased.get(entry["seq"]):', "if False:", "tests/journal/test_chain.py"),
    _one("an erased entry may say anything", "app/journal/rules.py", 'stands != erased.get(entry["seq"])',
         'entry["seq"] not in erased', "tests/personal/test_erasure.py"),
    _one("an erased entry keeps its salt", "app/journal/erasing.py", '.values(before=before, after=after, reason=reason, salt="")',
         ".values(before=before, after=after, reason=reason)", "tests/personal/test_erasure.py"),
    _one("somebody with an open repair is erased", "app/personal/rules/hindrances.py", "for number in standing.open_orders:",
         "for number in ():", "tests/personal/test_erasure.py"),
    _one("a name of one word is replaced inside a finding", "app/personal/rules/replacing.py", "if len(one.split()) > 1]",
         "if one.strip()]", "tests/personal/test_replacing.py"),
    _one("an original keeps its location", "app/photos/prepare.py", "(clean(data) if strip else data)", "data",
         "tests/photos/test_location.py"),
    _one("a page token fits any sign-in", "app/kernel/tokens.py", 'return f"sign-in:{signed_in.token_hash}"', 'return "sign-in"',
         "tests/kernel/test_token_of_another.py"),
    _one("an amp that is on is moved", "app/orders/service.py", "    power.must_be_off(order)\n", "", ROUND),
    _one("an ended order is changed", "app/orders/service.py", "    if not order.is_open:\n", "    if False:\n", ROUND),
    _one("it leaves as repaired past its gates", "app/orders/service.py",
         "missing_to_leave(order) if how is End.REPAIRED else ()", "()", ONE_THING),
    _one("a withdrawn authority counts", "app/orders/authority.py",
         "standing = [entry for entry in ledger(order_id) if entry.withdrawn_at is None]", "standing = list(ledger(order_id))",
         ONE_THING),
    _one("a diagnosis lowers what was agreed", "app/orders/authority.py",
         "counting = [entry for entry in standing if entry.covers is not AuthorityFor.DIAGNOSIS] or standing",
         "counting = standing", ONE_THING),
    _one("a part below its place's rating is taken", "app/parts/rules.py", "        if bears < asks:",
         "        if bears < asks / 2:",
         "tests/parts/test_rules.py"),
    _one("a place takes a mean where the start-up peak is known", "app/kept/rules.py",
         'if purpose is Purpose.VOLTS and highest and "highest" not in figure.key:', "if False:", "tests/kept/test_kept.py"),
    _one("a withdrawn calculation still fills the discharge record", "app/discharge/service.py",
         "if use is not None and use.kept.stands:", "if use is not None:", "tests/kept/test_kept.py"),
    _one("a part is taken below the reverse volts of its place", "app/parts/rules.py",
         "need.rating.withstand, came", "need.rating.volts, came", "tests/kept/test_kept.py"),
    _one("a limit typed without its sheet is green", "app/bench/sums/other_valve.py", 'Source("M", "typed here, no sheet named")',
         'Source("T", "typed here, no sheet named")', "tests/sums/test_other_valve.py"),
    _one("a 6L6WGA borrows the ratings of a 6L6GC", "app/electrics/valves/lookup.py", '"6L6WGA": ("6L6",', '"6L6WGA": ("6L6GC",',
         "tests/electrics/test_valves.py"),
    _one("fixed bias is allowed the grid leak of a cathode resistor", "app/electrics/loads.py",
         "known.fixed_ohm if fixed else known.self_ohm", "known.self_ohm", "tests/electrics/test_loads.py"),
    _one("a valve is received by a look", "app/parts/rules.py", "need.kind in MUST_BE_TESTED and", "False and",
         "tests/parts/test_rules.py"),
    _one("a reading without an accuracy is judged", "app/measuring/rules.py", "    if given.uncertainty is None:\n",
         "    if False:\n", "tests/measuring/test_rules.py"),
    _one("a bound passes the limit it lies towards", "app/measuring/rules.py",
         'return Verdict.FAIL if towards.verdict == "fail" else Verdict.UNDECIDED', 'return Verdict(towards.verdict)',
         "tests/measuring/test_rules.py"),
    _one("a measurement is passed over with a reason", "app/reassembly/rules.py",
         "    if any(origins[lack][0] in PROOFS for lack in lacks):", "    if False:", "tests/reassembly/test_way_back.py"),
    _one("a search is countersigned by who searched", "app/removals/service/odd.py",
         " or by.person_id == gone.searched_by_id:", ":", "tests/removals/test_service.py"),
    _one("a lost piece leaves no line in the ledger", "app/removals/service/odd.py", "went=Went.SCRAPPED, count=1,",
         "went=Went.SCRAPPED, count=0,", "tests/removals/test_service.py"),
    _one("a high risk is left as it is", "app/findings/rules/life.py", "    if risk in MUST_ACT and disposition in LEAVES_IT:",
         "    if False:", "tests/findings/test_findings.py", "tests/findings/test_risk.py"),
    _one("a test goes on after its chassis was opened", "app/safety/service/testing.py",
         '    if why := queries.why_void(test):\n        raise RuleBroken(f"This test is void.',
         '    if why := "":\n        raise RuleBroken(f"This test is void.',
         "tests/safety/test_service.py"),
    _one("a changed limit stays confirmed", "app/safety/service/profiles.py",
         '    profile.confirmed_at, profile.confirmed_by = None, ""\n', "", "tests/safety/test_service.py"),
    _one("an amp is left running in pieces", "app/safety/service/soaking.py", "    if off := closed_up(order):\n",
         '    if off := "":\n', ONE_THING),
    _one("an amp leaves the counter before its plate is photographed", "app/intake/rules.py",
         "plate = not facts.serial_shown and not no_plate", "plate = False", "tests/intake/test_rules.py"),
    _one("work begins before a cost limit is agreed", "app/intake/rules.py",
         "elif facts.at_counter and not facts.agreed:", "elif False:", "tests/intake/test_rules.py"),
    _one("the customer pays for the shop's own work that failed", "app/intake/come_back_rules.py",
         "if self.payer is Payer.CUSTOMER and self.verdict not in CHARGEABLE:", "if False:", "tests/intake/test_come_back.py"),
    _one("a come-back is charged before it is judged", "app/intake/service/sheets.py",
         "if what.ceiling_minor and (why_not :=", "if False and (why_not :=", "tests/intake/test_come_back.py"),
    _one("an amp on the bench can be made void", "app/orders/service.py",
         "if how is End.VOID and (", "if False and (", "tests/intake/test_merging.py"),
    _one("a tap of the pen is a signature", "app/intake/rules.py",
         " and (max(across) - min(across)) + (max(down) - min(down)) > 20)", ")",
         "tests/intake/test_rules.py"),
    _one("names of loose pieces are escaped twice", "templates/removals/page.html", "counts(line.pieces) | trim",
         "counts(line.pieces) | trim | trade", HOSTILE),
    _one("a file that is kept already is written anew", "app/photos/store.py",
         "if not self.has(sha256) or self.is_damaged(sha256):", "if True:", SYNCS,
         "tests/photos/test_photos.py"),
    _one("a cavity closes uncounted", "app/reassembly/planner/cavities.py",
         '        model.drafts.join([key], closing, "count-before-closure", _owners(closing), Strength.SAFETY)\n', "", SPACES),
    _one("a flying primary of a said class does not wait for the earth", "app/reassembly/planner/mains.py",
         '        return end.own_class == "mains"\n', "        return False\n", SPACES),
    _one("the lock-nut of an earth corner is not awaited", "app/reassembly/planner/mains.py",
         "                found += model.last(thing)\n", "                pass\n", SPACES),
    _one("power before the HT was measured cold", "app/reassembly/planner/usual.py", 'if key[0] == "COLD"]',
         'if key[0] == "none"]', SPACES),
    _one("a cover's bond is not measured again", "app/reassembly/planner/usual.py",
         "            again(model, key, thing.id, [thing])\n", "", SPACES),
    _one("a new part's pieces count as taken off", "app/removals/queries.py",
         '"issued" if line.removal.fate is Fate.NEW else "removed"', '"removed"', "tests/reassembly/test_spaces.py"),
)


def plant(mutant: Mutant, copy: Path) -> None:
    """Change the copy. AssertionError if what is to be changed does not stand there."""
    path = copy / mutant.file
    text = path.read_text(encoding="utf-8")
    for old, new in mutant.changes:
        assert old in text, f"{mutant.name}: {old!r} does not stand in {mutant.file}"
        text = text.replace(old, new)
    path.write_text(text, encoding="utf-8")


def fail_anyhow(tests: tuple[str, ...], copy: Path, known: dict[tuple[str, ...], list[str]]) -> list[str]:
    """Tests of these files that fail without a fault: they kill nothing. Asked once for each set of files."""
    if tests not in known:
        known[tests] = failed(_run(copy, *tests).stdout)
    return known[tests]


def ask(mutant: Mutant, copy: Path, but: list[str]) -> str:
    """The test that killed it, or 'survived'; tests that fail anyhow are not asked."""
    done = _run(copy, "-x", *mutant.tests, *(f"--deselect={one}" for one in but))
    if done.returncode not in (0, 1):
        return f"not asked: {done.stdout[-300:]}{done.stderr[-300:]}"
    return next(iter(failed(done.stdout)), "survived")


def failed(told: str) -> list[str]:
    """The tests that pytest's summary names."""
    return re.findall(r"^(?:FAILED|ERROR) (\S+)", told, re.MULTILINE)


def _run(copy: Path, *given: str) -> subprocess.CompletedProcess[str]:
    engine = () if AT_ONCE in given else ("-k", "not postgresql")  # one is enough for what does not touch the engine
    return subprocess.run([sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", *engine, *given], cwd=copy, text=True,
                          capture_output=True, env={**os.environ, "PYTHONDONTWRITEBYTECODE": "1"})


def main(names: list[str]) -> None:
    """Each mutant (of these names, or all) in turn, a line of the table for each."""
    known: dict[tuple[str, ...], list[str]] = {}
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder)
        for name in COPIED:
            if (ROOT / name).is_dir():
                shutil.copytree(ROOT / name, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
            else:
                shutil.copy(ROOT / name, copy / name)
        for mutant in MUTANTS:
            if not names or mutant.name in names:
                but, whole = fail_anyhow(mutant.tests, copy, known), (copy / mutant.file).read_bytes()
                plant(mutant, copy)
                print(f"| {mutant.name} | `{mutant.file}` | `{ask(mutant, copy, but)}` |", flush=True)
                (copy / mutant.file).write_bytes(whole)


if __name__ == "__main__":
    main(sys.argv[1:])
