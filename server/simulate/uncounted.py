"""House batteries, which a run leaves out: said wherever it is judged."""

from __future__ import annotations

from server.domain.site import Site


def uncounted_words(site: Site) -> str:
    """That house batteries are not counted, as a sentence; empty where there are none."""
    names = [b.name for b in site.batteries]
    if not names:
        return ""
    them, its = ("is", "its") if len(names) == 1 else ("are", "their")
    listed = " and ".join(filter(None, (", ".join(names[:-1]), names[-1])))
    carried = "what it carries" if len(names) == 1 else "what they carry"
    return f"{listed} {them} not counted: ask {its} installer {carried}, and for how long."
