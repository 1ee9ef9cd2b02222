"""The forms of the strip-down."""

from app.teardown.forms.boards import BoardForm, PositionForm
from app.teardown.forms.catalogue import UsualForm
from app.teardown.forms.findings import ActForm, FindingForm, ProveForm, ReasonForm
from app.teardown.forms.made_safe import ExpectForm, MadeSafeForm, PoweredForm
from app.teardown.forms.special import BakeForm, EndBakeForm, LeakageForm, WireForm
from app.teardown.forms.waste import HandOverForm, WasteForm

__all__ = ["ActForm", "BakeForm", "BoardForm", "EndBakeForm", "ExpectForm", "FindingForm", "HandOverForm", "LeakageForm",
           "MadeSafeForm", "PositionForm", "PoweredForm", "ProveForm", "ReasonForm", "UsualForm", "WasteForm", "WireForm"]
