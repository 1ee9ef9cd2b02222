"""Lay the models' defaults in the database too, so that from here on a column can be added to a table that has rows."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

DEFAULTS = {
    "accessory_count": {"version": "1"},
    "accessory_return": {"note": "", "version": "1"},
    "accuracy": {"withdrawn_by": ""},
    "amp": {"mains_marking": "", "protection_class": "not known yet", "valves": "", "covering": "", "marks": "",
            "find_text": "", "version": "1"},
    "authority": {"reached_at": "", "note": "", "withdrawn_reason": ""},
    "bake_out": {"ended_note": ""},
    "bench_handover": {"note": ""},
    "board": {"meter": "", "meter_percent": "1.0", "version": "1"},
    "board_position": {"new_part": "", "note": "", "version": "1"},
    "collection_notice": {"proof": "", "due_for": "", "struck_reason": ""},
    "complaint": {"connected": "", "how_long_on": "", "last_right": "", "worked_on_by": "", "keep": "", "leave_alone": "",
                  "version": "1"},
    "condition_note": {"struck_reason": ""},
    "customer": {"phone": "", "email": "", "address": "", "note": "", "find_text": "", "version": "1"},
    "declined_work": {"risk": "", "tag": "", "signature": "", "witness": ""},
    "demonstration": {"said": "", "version": "1"},
    "disposal": {"version": "1"},
    "finding": {"code": "", "place": "", "cause": "", "confidence": "probable", "origin": "wear", "hazard": "",
                "check_words": "", "signs": "", "track": "", "disposition_words": "", "acted_words": "", "proof_words": "",
                "proof_instrument": "", "decline_paper": "", "withdrawn_reason": "", "version": "1"},
    "first_look": {"other": "", "energised_why": "", "version": "1"},
    "found_object": {"place": "", "note": "", "explained_words": "", "version": "1"},
    "guesses": {"failures": "0"},
    "instrument": {"make": "", "serial": "", "category": "", "certificate": "", "state": "in service", "note": "",
                   "version": "1"},
    "intake_agreement": {"version": "1"},
    "issued_document": {"about_id": "0"},
    "kept_sum": {"note": ""},
    "listed_part": {"supplier": ""},
    "lost_piece": {"circumstances": "", "found_words": "", "search_words": "", "version": "1"},
    "old_parts": {"which": "", "version": "1"},
    "order_move": {"reason": ""},
    "part": {"state": "needed", "rating_source": "", "supplier": "", "ordered_by": "", "batch": "", "test_words": "",
             "received_by": "", "fitted_place": "", "fitted_by": "", "dropped_reason": "", "dropped_by": "", "version": "1"},
    "past_job": {"model": ""},
    "person": {"active": sa.true()},
    "photo": {"caption": "", "version": "1"},
    "piece_entry": {"note": "", "at_end": sa.false(), "struck_reason": ""},
    "point": {"basis": "", "withdrawn_reason": "", "version": "1"},
    "profile_step": {"rule": "", "condition": "", "note": ""},
    "quarantine": {"lifted_by": "", "lifted_reason": ""},
    "quote": {"assumptions": "", "declining_means": ""},
    "quote_authorisation": {"reached_at": "", "signature": "", "on_paper": sa.false(), "conditions": ""},
    "quote_issued_line": {"finding_words": "", "risk": "", "parts": "", "parts_minor": "0", "consequence": "",
                          "warranty_days": "0"},
    "quote_line": {"withdrawn_by": "", "withdrawn_reason": "", "parts": "", "parts_minor": "0", "consequence": "",
                   "warranty_days": "0"},
    "reading": {"condition": "", "basis": "", "accuracy_words": "", "why": "", "correction_reason": "", "explanation": "",
                "explained_by": ""},
    "removal": {"unit": "", "place": "", "fixed_to": "", "thread": "", "keyed": sa.false(), "orientation": "",
                "stays_on_loom": sa.false(), "bag": "", "fate": "refit", "fate_reason": "", "minutes": "0.0",
                "unattended_minutes": "0.0", "note": "", "struck_reason": "", "version": "1"},
    "repair_order": {"shelf": "", "version": "1"},
    "return_signature": {"known_by": "", "signature": ""},
    "safety_profile": {"key": "", "where": "", "edition": "", "confirmed_by": "", "in_force": sa.false(), "version": "1"},
    "safety_step": {"condition": "", "note": ""},
    "safety_test": {"lead_words": "", "conditions": "", "completed_by": "", "licence": "", "reasons": "", "tag": "",
                    "voided_by": "", "void_reason": ""},
    "settlement": {"on_account": "", "version": "1"},
    "shop": {"wording": "valve", "currency": "AUD", "tax_name": "GST", "tax_rate_bp": "1000", "paper": "A4",
             "time_zone": "Australia/Sydney", "jurisdiction": "au-nsw", "mains_v": "230.0", "mains_hz": "50",
             "hourly_rate_minor": "9500", "diagnosis_fee_minor": "8500", "decline_fee_minor": "0", "quote_valid_days": "30",
             "warranty_days": "90", "warn_at_percent": "70", "hold_at_percent": "90", "safe_volts": "10.0",
             "soak_minutes": "120", "first_number": "1001", "demo": sa.false(), "version": "1"},
    "soak_run": {"ended_by": "", "observations": ""},
    "step_outcome": {"words": "", "reason": ""},
    "step_record": {"note": "", "forced_reason": "", "lacked": "", "undone_reason": ""},
    "terms_acceptance": {"signature": ""},
    "unrepaired_acknowledgement": {"signature": "", "witness": ""},
    "unrepaired_return": {"advice": "", "works": "", "tag": "", "version": "1"},
    "usual_finding": {"cause": "", "hazard": "", "disposition_words": "", "check_words": "", "signs": "", "retired": sa.false(),
                      "version": "1"},
    "usual_point": {"basis": ""},
    "waste": {"note": "", "handed_paper": ""},
}


def upgrade() -> None:
    for table, columns in DEFAULTS.items():
        with op.batch_alter_table(table, reflect_kwargs={"resolve_fks": False}) as batch:  # its neighbours need not be read
            for name, default in columns.items():
                batch.alter_column(name, server_default=default)
