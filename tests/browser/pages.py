"""Every page there is, with the cautions that it must carry. A new page is added here."""

from __future__ import annotations

from dataclasses import dataclass

from server.domain.site import Site


@dataclass(frozen=True)
class Sheet:
    """One page: its address with the parts of a site to fill in, and its cautions by key."""

    name: str
    path: str
    cautions: tuple[str, ...] = ("planning-aid",)
    status: int = 200

    def address(self, site_id: str, site: Site) -> str:
        """The address on this site, with its first circuit, scenario and so on filled in."""
        circuit = next(circuit for circuit in site.circuits if circuit.appliances)
        return self.path.format(
            site=f"/sites/{site_id}",
            circuit=circuit.id,
            appliance=circuit.appliances[0].id,
            scenario=site.scenarios[0].id,
            part=site.transfer_switches[0].id,
        )


SHEETS = (
    Sheet("sites", "/sites"),
    Sheet("start", "/start"),
    Sheet(
        "start-sources",
        "/start?step=sources&way=two-meters-and-switchable",
        ("planning-aid", "backfeed", "exhaust", "co-alarms"),
    ),
    Sheet("start-things", "/start?step=things&way=portable"),
    Sheet("start-forgotten", "/start?step=forgotten&way=whole-house&solar=unknown"),
    Sheet("overview", "{site}", ("planning-aid", "result")),
    Sheet("overview-of-a-scenario", "{site}?scenario={scenario}", ("planning-aid", "result")),
    Sheet("settings", "{site}/settings"),
    Sheet("supply", "{site}/supply", ("planning-aid", "backfeed", "exhaust", "bond", "solar")),
    Sheet("supply-part", "{site}/supply/{part}", ("planning-aid", "backfeed", "bond")),
    Sheet("supply-delete", "{site}/supply/{part}/delete", ("planning-aid", "backfeed", "bond")),
    Sheet("supply-new-part", "{site}/new-part/feeder", ("planning-aid", "live-parts", "bond")),
    Sheet("circuits", "{site}/circuits"),
    Sheet("circuit", "{site}/circuits/{circuit}"),
    Sheet("new-circuit", "{site}/new-circuit"),
    Sheet("spaces", "{site}/spaces", ("planning-aid", "live-parts", "moving")),
    Sheet("paste-circuits", "{site}/paste-circuits"),
    Sheet("appliance", "{site}/circuits/{circuit}/appliances/{appliance}"),
    Sheet("new-appliance", "{site}/circuits/{circuit}/new-appliance"),
    Sheet("buses", "{site}/buses", ("planning-aid", "moving", "throwing", "result")),
    Sheet("scenarios", "{site}/scenarios", ("planning-aid", "co-alarms")),
    Sheet("scenario", "{site}/scenarios/{scenario}", ("planning-aid", "co-alarms", "result")),
    Sheet("compare", "{site}/compare?first={scenario}", ("planning-aid", "result")),
    Sheet("new-scenario", "{site}/scenarios/new", ("planning-aid", "co-alarms")),
    Sheet("scenario-edit", "{site}/scenarios/{scenario}/edit"),
    Sheet("demand", "{site}/demand", ("planning-aid", "live-parts", "result")),
    Sheet("wiring", "{site}/wiring", ("planning-aid", "live-parts", "bond", "grounding")),
    Sheet(
        "wiring-bench",
        "{site}/wiring/bench?noncontinuous_a=48&neutral_a=20&pieces.0.run_ft=190&pieces.1.run_ft=35"
        "&pieces.1.kind=emt&pieces.1.bends=90+90+90+90+90&also.0.count=4&also.0.size=12",
        ("planning-aid", "live-parts", "bond", "grounding"),
    ),
    Sheet("wiring-bench-empty", "{site}/wiring/bench", ("planning-aid", "live-parts", "bond")),
    Sheet("findings", "{site}/findings", ("planning-aid", "live-parts", "bond")),
    Sheet("survey", "{site}/survey", ("planning-aid", "live-parts")),
    Sheet("survey-breaker", "{site}/survey/breakers/{circuit}", ("planning-aid", "live-parts")),
    Sheet("survey-found", "{site}/survey/found", ("planning-aid", "live-parts")),
    Sheet("survey-clamp", "{site}/survey/clamp", ("planning-aid", "live-parts")),
    Sheet("help-models", "/help/models", ("planning-aid", "result")),
    Sheet("keys", "/help/keys"),
    Sheet("help", "/help", ("planning-aid", "backfeed", "exhaust")),
    Sheet("nothing-here", "{site}/no-such-page", ("planning-aid",), status=404),
)
