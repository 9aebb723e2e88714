"""Everything the published rules say about a site: findings, worksheets and wiring."""

from __future__ import annotations

from dataclasses import dataclass

from server.domain.finding import Finding
from server.domain.namesakes import sets_told_apart
from server.domain.site import CodeEdition, Site
from server.rules.checks.circuits import circuit_checks
from server.rules.checks.common_area import common_area_checks
from server.rules.checks.dwellings import dwelling_checks
from server.rules.checks.farm_wiring import farm_wiring_checks
from server.rules.checks.fed_twice import fed_twice_checks
from server.rules.checks.grounds import ground_checks
from server.rules.checks.loads import demand_checks
from server.rules.checks.own_circuits import own_circuit_checks
from server.rules.checks.panels import panel_checks
from server.rules.checks.set_conductors import inlet_checks, set_conductor_checks
from server.rules.checks.set_size import set_size_checks
from server.rules.checks.solar_signs import solar_sign_checks
from server.rules.checks.sources import source_checks
from server.rules.checks.typed import typed_checks
from server.rules.checks.wires import wiring_checks
from server.rules.demand.mapping import Facts
from server.rules.demand.report import ElementDemand
from server.rules.demand.watched import demand_report
from server.rules.editions import Amendment, Rulebook, site_rules
from server.rules.gas_meter import gas_meter_checks
from server.rules.hazard_table import SEVERITIES
from server.rules.hazards import hazards
from server.rules.mends.recheck import rechecked
from server.rules.wiring.feeder import FeederWiring, feeder_wiring


@dataclass(frozen=True)
class CheckReport:
    """What the rules say about a site in one edition.

    ``missing`` are the questions whose answers the worksheets still need.
    """

    edition: CodeEdition
    edition_title: str
    provisional: bool
    findings: tuple[Finding, ...]
    demand: tuple[ElementDemand, ...]
    wiring: tuple[FeederWiring, ...]
    missing: tuple[str, ...]

    @property
    def fails(self) -> bool:
        """Whether a blocking finding or a warning stands."""
        return any(f.severity != "note" for f in self.findings)

    def about(self, element_id: str) -> tuple[Finding, ...]:
        """Findings about one element."""
        return tuple(f for f in self.findings if f.element_id == element_id)


def check_site(
    site: Site,
    *,
    edition: CodeEdition | None = None,
    facts: Facts | None = None,
    amendments: tuple[Amendment, ...] = (),
    recheck: bool = False,
) -> CheckReport:
    """Check a site by an edition, its own unless another is given.

    Parameters
    ----------
    site : Site                  Any site that can be computed.
    edition : str, optional      The edition to use instead of the site's.
    facts : Facts, optional      Answers the site document has no field for.
    amendments : tuple           Local changes of single figures, beside the site's own.
    recheck : bool               Work each mend into the site and check that again.

    Returns
    -------
    CheckReport   Findings in order of severity, hazards among them.

    Raises
    ------
    InputError   For an edition that is not here or an amendment that cannot stand.
    """
    site = sets_told_apart(site)
    rules, refused = site_rules(site, edition)
    if amendments:
        rules = Rulebook(rules.edition, (*rules.amendments, *amendments))
    demand = demand_report(site, rules=rules, facts=facts)
    wiring = feeder_wiring(site, rules=rules, facts=facts, report=demand)
    found = _findings(site, demand, wiring, rules)
    if recheck:

        def again(changed: Site) -> tuple[Finding, ...]:
            loads = demand_report(changed, rules=rules, facts=facts)
            wires = feeder_wiring(changed, rules=rules, facts=facts, report=loads, advise=False)
            return _findings(changed, loads, wires, rules)

        found = rechecked(site, found, check=again, rules=rules)
    found = (*(_left_out(figure, why) for figure, why in refused), *found)
    questions = [q for d in demand for s in d.sheets for q in s.missing]
    questions += [q for w in wiring for q in w.missing]
    return CheckReport(
        edition=rules.edition,
        edition_title=rules.title,
        provisional=rules.provisional,
        findings=tuple(sorted(found, key=lambda f: SEVERITIES.index(f.severity))),
        demand=demand,
        wiring=wiring,
        missing=tuple(dict.fromkeys(questions)),
    )


def _findings(
    site: Site,
    demand: tuple[ElementDemand, ...],
    wiring: tuple[FeederWiring, ...],
    rules: Rulebook,
) -> tuple[Finding, ...]:
    return (
        *hazards(site, rules.edition),
        *gas_meter_checks(site),
        *demand_checks(site, demand, wiring, rules),
        *dwelling_checks(site, demand, rules),
        *own_circuit_checks(site, rules),
        *wiring_checks(wiring, rules),
        *ground_checks(site, rules),
        *typed_checks(site, wiring, rules),
        *circuit_checks(site, rules),
        *panel_checks(site, rules),
        *fed_twice_checks(site, rules),
        *common_area_checks(site, rules),
        *farm_wiring_checks(site, rules),
        *source_checks(site, rules),
        *set_size_checks(site),
        *solar_sign_checks(site, rules),
        *set_conductor_checks(site, wiring, rules),
        *inlet_checks(site, wiring, rules),
    )


def _left_out(figure: str, why: str) -> Finding:
    return Finding(
        code="amendment-left-out",
        severity="warning",
        element_id="",
        text=f"The local amendment of {figure} was left out. {why}",
        mend="Name a figure of the list under the demand load with a value that it can take, or "
        "remove the amendment.",
    )
