"""Pointer targets that are too small for a finger or an unsteady hand.

WCAG 2.2, success criterion 2.5.8 (AA): 24 by 24 CSS pixels; smaller only in a sentence, or where
a circle of 24 px on its centre meets no other target and no such circle of another small one.
"""

from __future__ import annotations

from playwright.sync_api import Page

TOO_SMALL = """() => {
  const targets = [...document.querySelectorAll(
    'a[href], button, summary, select, textarea, input:not([type=hidden]), [role=button],'
    + '[tabindex="0"]'
  )].filter((e) => e.checkVisibility({ visibilityProperty: true }) && !e.closest('.vh, svg'))
    .filter((e) => e.getAttribute('aria-hidden') !== 'true')
    .map((e) => ({ e, box: (e.closest('label') ?? e).getBoundingClientRect() }))
    .filter(({ box }) => box.width > 0 && box.height > 0);
  const small = ({ box }) => box.width < 23.95 || box.height < 23.95;
  const centre = ({ box }) => [box.x + box.width / 2, box.y + box.height / 2];
  const inSentence = ({ e }) => {
    const around = e.closest('p, li, dd, figcaption');
    if (!around || !getComputedStyle(e).display.startsWith('inline')) return false;
    const words = around.cloneNode(true);
    words.querySelectorAll('a, button, svg').forEach((part) => part.remove());
    return /\\p{L}{2}/u.test(words.textContent);
  };
  const near = (one, other) => {
    const [x, y] = centre(one);
    if (small(other)) return Math.hypot(x - centre(other)[0], y - centre(other)[1]) < 24;
    const dx = Math.max(other.box.left - x, 0, x - other.box.right);
    const dy = Math.max(other.box.top - y, 0, y - other.box.bottom);
    return Math.hypot(dx, dy) < 12;
  };
  return targets.filter((one) => small(one) && !inSentence(one))
    .filter((one) => targets.some((other) => other.e !== one.e && !one.e.contains(other.e)
      && !other.e.contains(one.e) && near(one, other)))
    .map(({ e, box }) => `${e.tagName} ${e.className} in ${e.parentElement.tagName}.`
      + `${e.parentElement.className}: ${e.textContent.trim().slice(0, 30)} `
      + `${box.width.toFixed(1)} by ${box.height.toFixed(1)}`);
}"""


def too_small(page: Page) -> list[str]:
    """Each target of the page that is smaller than it may be, with its size. [px]"""
    return list(page.evaluate(TOO_SMALL))
