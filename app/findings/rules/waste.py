"""Hazardous materials of a strip-down and the cautions that go with each. Local law decides what may be done with them."""

from __future__ import annotations

from enum import StrEnum


class Material(StrEnum):
    """What it is."""

    LEAD = "lead solder and wipes"
    PCB = "capacitors that may hold PCB"
    ELECTROLYTIC = "electrolytic capacitors"
    SELENIUM = "selenium rectifier"
    FIBRE = "suspect fibre"
    MERCURY = "mercury"
    RADIOACTIVE = "radioactive valve or dial"
    CADMIUM = "cadmium or beryllia"
    SOLVENT = "solvent and rags"
    BATTERY = "batteries"
    MOULD = "mould or droppings"

    @property
    def caution(self) -> str:
        """What to do and what to leave, in a sentence or two."""
        return CAUTIONS[self]


CAUTIONS: dict[Material, str] = {
    Material.LEAD: "Wash your hands, extract the fumes, no food at the bench. Closed box with a label; wipes are usually "
                   "hazardous waste.",
    Material.PCB: "PCB here is polychlorinated biphenyl, not a printed board. Do not open. Gloves. Old oil or wax capacitors "
                  "without a mark are presumed to hold it; bag them apart. The eye alone cannot tell.",
    Material.ELECTROLYTIC: "Discharge first; goggles when one vents. Large ones (about 25 mm and more) are kept apart.",
    Material.SELENIUM: "Poisonous fume when burnt: do not solder, heat or break it; air the room.",
    Material.FIBRE: "Do not scrape, brush, drill or blow. Presume asbestos until a laboratory says otherwise; sealing in or "
                    "removal is for someone licensed.",
    Material.MERCURY: "Do not break. Keep the spill kit at hand; rigid box, upright.",
    Material.RADIOACTIVE: "No hazard while whole, one when broken. Padded box with a label; ask what your law exempts.",
    Material.CADMIUM: "Wash your hands. Never file the plating, never break the ceramic.",
    Material.SOLVENT: "Ventilate. Rags go into a metal bin with a lid: they can heat by themselves.",
    Material.BATTERY: "Tape the terminals; battery route.",
    Material.MOULD: "Mask (FFP2 or N95) and gloves, clean wet, or refuse the job.",
}
