"""What makes a page readable and usable with a thumb, measured in the page itself."""

from __future__ import annotations

__all__ = ["CONTRAST", "CUT", "LEAST_CONTRAST", "SMALLEST_PX", "TARGETS"]

SMALLEST_PX = 48
"""For gloves. WCAG 2.2, success criterion 2.5.5 (level AAA), asks for 44."""
LEAST_CONTRAST = 4.5
"""WCAG 2.2, success criterion 1.4.3 (level AA), for text of any size."""

# The relative luminance and contrast ratio as WCAG 2.2 defines them, over what is painted behind.
CONTRAST = """() => {
  const parts = (text) => text.match(/[\\d.]+/g).map(Number);
  const channel = (v) => (v /= 255) <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
  const light = ([r, g, b]) => 0.2126 * channel(r) + 0.7152 * channel(g) + 0.0722 * channel(b);
  const ground = (e) => {
    for (; e; e = e.parentElement) {
      const c = parts(getComputedStyle(e).backgroundColor);
      if (c.length < 4 || c[3] > 0.99) return c;
    }
    return [255, 255, 255];
  };
  const faint = [];
  for (const e of document.querySelectorAll("main *, header:not(.sheet-head) *, .tabs *")) {
    const own = [...e.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim());
    if (!own || !e.checkVisibility() || e.closest(".heard, .skip")) continue;
    const [a, b] = [light(parts(getComputedStyle(e).color)), light(ground(e))];
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    faint.push([ratio, e.className + ": " + e.textContent.trim().slice(0, 40)]);
  }
  return faint;
}"""
# A checkbox or file field is as large as the label around it.
TARGETS = """() => [...document.querySelectorAll(
  "a[href], button, input, select, textarea, summary")]
  .filter((e) => e.checkVisibility() && !e.closest(".skip"))
  .map((e) => [(["checkbox", "file"].includes(e.type) ? e.closest("label") : e), e])
  .map(([area, e]) => [area.getBoundingClientRect(), e])
  .filter(([r]) => r.width > 1)
  .map(([r, e]) => [r.width, r.height, e.outerHTML.slice(0, 120)])"""
CUT = """() => [...document.querySelectorAll("main *, header *, .tabs *, dialog *")]
  .filter((e) => e.checkVisibility()
    && !e.closest(".heard, .skip, .scroller, .desk-table thead, svg"))
  .filter((e) => [...e.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim()))
  .filter((e) => e.getBoundingClientRect().right > innerWidth + 0.5
    || (getComputedStyle(e).display !== "inline" && e.scrollWidth > e.clientWidth + 1))
  .map((e) => `${e.tagName}.${e.className}: ${e.textContent.trim().slice(0, 60)}`)"""
"""Words that stick out of their own box or of the screen."""
