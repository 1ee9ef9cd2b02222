"""Every table of every room, loaded in one place so that foreign keys find each other."""

from __future__ import annotations

from app import search_kinds as _search_kinds  # noqa: F401 - whatever can write, keeps the search index
from app.access import models as _access  # noqa: F401
from app.boards import models as _boards  # noqa: F401
from app.circuits import models as _circuits  # noqa: F401
from app.contact import models as _contact  # noqa: F401
from app.db import Base
from app.discharge import models as _discharge  # noqa: F401
from app.documents import models as _documents  # noqa: F401
from app.drawings import models as _drawings  # noqa: F401
from app.exchange import models as _exchange  # noqa: F401
from app.findings.models import catalogue as _catalogue  # noqa: F401
from app.findings.models import findings as _findings  # noqa: F401
from app.findings.models import special as _special  # noqa: F401
from app.findings.models import waste as _waste  # noqa: F401
from app.handover import models as _handover  # noqa: F401
from app.hardware import models as _hardware  # noqa: F401
from app.hours import models as _hours  # noqa: F401
from app.incidents import models as _incidents  # noqa: F401
from app.intake import models as _intake  # noqa: F401
from app.journal import models as _journal  # noqa: F401
from app.kept import models as _kept  # noqa: F401
from app.kernel import models as _kernel  # noqa: F401
from app.leftovers import models as _leftovers  # noqa: F401
from app.measuring import calibration as _calibration  # noqa: F401
from app.measuring import models as _measuring  # noqa: F401
from app.money import models as _money  # noqa: F401
from app.orders import models as _orders  # noqa: F401
from app.parts import models as _parts  # noqa: F401
from app.personal import models as _personal  # noqa: F401
from app.photos import models as _photos  # noqa: F401
from app.powerup import models as _powerup  # noqa: F401
from app.quote import models as _quote  # noqa: F401
from app.reassembly import models as _reassembly  # noqa: F401
from app.records import models as _records  # noqa: F401
from app.removals import models as _removals  # noqa: F401
from app.safety.models import profiles as _profiles  # noqa: F401
from app.safety.models import testing as _safety  # noqa: F401
from app.search import models as _search  # noqa: F401
from app.shop import models as _shop  # noqa: F401
from app.sound import models as _sound  # noqa: F401

metadata = Base.metadata
