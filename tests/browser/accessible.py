"""What axe calls a grave fault of a page: every rule once, colours once for each look."""

from __future__ import annotations

from typing import Any

from axe_core_python.base import AXE_SCRIPT
from playwright.sync_api import Page

GRAVE = {"serious", "critical"}
COLOURS = "color-contrast"
RULES = {"rules": {COLOURS: {"enabled": False}}}
"""All but the one rule whose time grows with the square of a page."""
COLOURS_ONLY = {"runOnly": [COLOURS]}
"""The only rule of axe that a change of theme can break."""
# Two texts look alike where they and all that they stand in have the same names and the same
# styles that a contrast comes from; then one of them tells of both.
LOOKS = """() => {
  const known = new Map(), of = new Map(), found = [], told = new Set();
  const number = (text) => known.get(text) ?? known.set(text, known.size).get(text);
  const fields = ['INPUT', 'SELECT', 'TEXTAREA', 'BUTTON'];
  for (const e of document.body.querySelectorAll('*')) {
    const style = getComputedStyle(e);
    const words = [...e.childNodes]
      .filter((n) => n.nodeType === Node.TEXT_NODE).map((n) => n.data.trim()).join('');
    const look = number([
      of.get(e.parentElement) ?? 0, e.tagName, e.getAttribute('class'), e.type, e.disabled,
      e.getAttribute('aria-disabled'), style.color, style.backgroundColor, style.backgroundImage,
      style.opacity, style.fontSize, style.fontWeight, style.position, style.textShadow,
      style.filter, style.visibility, e.checkVisibility(), Math.min(words.length, 2),
    ].join('|'));
    of.set(e, look);
    if ((words || fields.includes(e.tagName)) && e.checkVisibility() && !told.has(look)) {
      told.add(look);
      found.push(e);
    }
  }
  return found;
}"""
RUN = f"""async ([options, colours]) => {{
  const found = colours ? ({LOOKS})() : [document];
  const {{ violations, passes }} = await axe.run(
    colours ? {{ include: found }} : document, {{ resultTypes: ['violations'], ...options }});
  return {{ violations, passes: passes.length, looked: found.length }};
}}"""


def faults(page: Page, *, colours_only: bool = False) -> list[str]:
    """What axe calls serious or critical; that it ran at all is asserted.

    Contrast is looked at once for each look of a text on the page: what has the same names and
    styles all the way up has the same contrast, and a sheet of thousands of cells has few looks.
    """
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE_SCRIPT)
    found = [] if colours_only else _violations(page, RULES, colours=False)
    return [
        f"{rule['id']} ({rule['impact']}): {node['target']} {node['failureSummary']}"
        for rule in (*found, *_violations(page, COLOURS_ONLY, colours=True))
        for node in rule["nodes"]
        if rule["impact"] in GRAVE
    ]


def _violations(page: Page, options: dict[str, Any], *, colours: bool) -> list[dict[str, Any]]:
    found = page.evaluate(RUN, [options, colours])
    assert found["passes"]
    assert found["looked"]
    violations: list[dict[str, Any]] = found["violations"]
    return violations
