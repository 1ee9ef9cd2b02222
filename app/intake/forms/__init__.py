"""Forms of the counter: people and amps, and the sheets of an order."""

from app.intake.forms.records import AmpForm, CheckInForm, CustomerForm, PeopleForm
from app.intake.forms.sheets import (
    AccessoriesForm,
    AgreeForm,
    ComplaintForm,
    ConditionForm,
    LookForm,
    OfferForm,
    PlaceForm,
    ReasonForm,
    TermsForm,
)

__all__ = ["AccessoriesForm", "AgreeForm", "AmpForm", "CheckInForm", "ComplaintForm", "ConditionForm", "CustomerForm",
           "LookForm", "OfferForm", "PeopleForm", "PlaceForm", "ReasonForm", "TermsForm"]
