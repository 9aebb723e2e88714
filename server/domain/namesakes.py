"""Sets that share a name, told apart in words by what each feeds."""

from __future__ import annotations

from collections import Counter

from server.domain.base import MAX_NAME
from server.domain.edits import free_name, with_changes
from server.domain.site import Site


def sets_told_apart(site: Site) -> Site:
    """The site with each of several sets of one name called by the switch or panel it feeds too.

    Ids stay as they are, and so does a site whose sets have names of their own.
    """
    often = Counter(g.name for g in site.generators)
    if len(often) == len(site.generators):
        return site
    taken = set(often)
    named = []
    for generator in site.generators:
        name = generator.name
        if often[name] > 1:
            fed = [site.name_of[f.to_id] for f in site.feeders if f.from_id == generator.id]
            end = f", feeding {' and '.join(fed)}" if fed else ", feeding nothing yet"
            end = end[: MAX_NAME - 4]
            name = free_name(f"{name[: MAX_NAME - len(end)]}{end}", taken)
            taken.add(name)
        named.append(generator.model_copy(update={"name": name}))
    return with_changes(site, generators=tuple(named))
