"""What people do about safety: keep profiles, test, soak, prove."""

from app.safety.service.profiles import (
    LimitFacts,
    change_limit,
    confirm_profile,
    copy_profile,
    ensure_profiles,
    put_in_force,
)
from app.safety.service.proofs import prove
from app.safety.service.soaking import end_soak, start_soak
from app.safety.service.testing import (
    Setup,
    answer,
    complete_test,
    measure,
    start_test,
    void_if_reopened,
    void_test,
)

__all__ = ["LimitFacts", "Setup", "answer", "change_limit", "complete_test", "confirm_profile", "copy_profile", "end_soak",
           "ensure_profiles", "measure", "prove", "put_in_force", "start_soak", "start_test", "void_if_reopened", "void_test"]
