"""What a rendered page gives to people who see little, use keys, large letters or an unsteady hand; read from the page itself.

Contrast is WCAG 2.2's (relative luminance of sRGB); every reader looks into shadow trees, where the editors live.
"""

from typing import Any

from playwright.sync_api import Page

_COMMON = """
const within = (root, found = []) => {
  for (const node of root.querySelectorAll('*')) { found.push(node); if (node.shadowRoot) within(node.shadowRoot, found); }
  return found;
};
const up = (node) => node.parentElement ?? node.getRootNode().host ?? null;
const numbers = (text) => {
  if (!text.startsWith('color(')) return (text.match(/[\\d.]+/g) ?? [0, 0, 0, 0]).map(Number);
  const [r, g, b, a = 1] = text.match(/[\\d.]+(?=[ )])/g).map(Number);  // color(srgb r g b / a), as color-mix computes
  return [255 * r, 255 * g, 255 * b, a];
};
const over = ([r, g, b, a = 1], [R, G, B]) => [r * a + R * (1 - a), g * a + G * (1 - a), b * a + B * (1 - a)];
const light = (rgb) => {
  const [r, g, b] = rgb.map((c) => c / 255).map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4));
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
};
const contrast = (a, b) => {
  const [hi, lo] = [light(a), light(b)].sort((x, y) => y - x);
  return (hi + 0.05) / (lo + 0.05);
};
const ground = (node) => {
  const layers = [];
  for (let at = node; at; at = up(at)) {
    const colour = numbers(getComputedStyle(at).backgroundColor);
    if ((colour[3] ?? 1) > 0) layers.unshift(colour);
  }
  return layers.reduce((below, layer) => over(layer, below), [255, 255, 255]);
};
const shown = (node) => {
  for (let at = node; at; at = up(at)) {
    const style = getComputedStyle(at);
    if (style.visibility === 'hidden' || style.display === 'none' || +style.opacity === 0) return false;
    if (at.dataset?.stale === 'true') return false;
  }
  return node.getClientRects().length > 0;
};
const called = (node) => (node.getAttribute('aria-label') || node.textContent || '').trim().slice(0, 60);
"""

_WEAK_TEXT = """() => {
  const weak = [];
  for (const node of within(document.body)) {
    const text = [...node.childNodes].filter((c) => c.nodeType === 3).map((c) => c.data.trim()).join('');
    const style = getComputedStyle(node);
    const off = node.closest('[aria-disabled="true"], :disabled, .disabled, [data-disabled]');
    const no_words = node.tagName === 'text' || style.clipPath !== 'none' || style.fontFamily.includes('Material');
    if (!text || off || no_words || !shown(node)) continue;
    const back = ground(node), size = parseFloat(style.fontSize), bold = +style.fontWeight >= 700;
    const least = size >= 24 || (bold && size >= 18.66) ? 3 : 4.5;
    const has = contrast(over(numbers(style.color), back), back);
    if (has < least) weak.push(`${has.toFixed(2)} ${text.slice(0, 50)}`);
  }
  return weak;
}"""

_WEAK_EDGES = """() => {
  const weak = [];
  const boxes = '[data-testid="stTextInputRootElement"], [data-testid="stTextAreaRootElement"],'
    + '[data-testid="stNumberInputContainer"], [data-testid="stSelectbox"] [role="group"],'
    + '[data-testid="stCheckbox"] label > div:first-of-type, .choice, .headchoice, .group, .bar, .field input, .field select';
  const paint = (style) => (parseFloat(style.borderTopWidth) > 0 ? style.borderTopColor : style.backgroundColor);
  for (const node of within(document.body)) {
    if (!node.matches(boxes) || !shown(node) || node.matches(':focus-within')) continue;
    // On a phone the bar has the edge that the groups of its buttons share.
    if (node.matches('.group, .bar') && !parseFloat(getComputedStyle(node).borderTopWidth)) continue;
    const has = contrast(over(numbers(paint(getComputedStyle(node))), ground(up(node))), ground(up(node)));
    if (has < 3) weak.push(`${has.toFixed(2)} ${node.className || node.dataset.testid} ${called(node)}`);
  }
  return weak;
}"""

_SMALL = """() => {
  const small = [];
  const controls = 'a[href], button, input, select, textarea, summary';
  const sentence = (node) => node.tagName === 'A' && getComputedStyle(node).display === 'inline' && node.closest('p, li');
  for (const node of within(document.body)) {
    if (!node.matches(controls) || !shown(node) || sentence(node) || node.tabIndex < 0) continue;
    // A press on its label, or anywhere in the box of a list to choose from, reaches the control too.
    const others = [node.labels?.[0] ?? node.closest('label'), node.closest('[data-baseweb="select"]')];
    const boxes = [node, ...others.filter(Boolean)].map((one) => one.getBoundingClientRect());
    const side = Math.max(...boxes.map((box) => Math.min(box.width, box.height)));
    if (side > 0 && side < 23.5) small.push(`${side.toFixed(0)} px ${node.tagName} ${called(node)}`);
  }
  return small;
}"""

_SIDEWAYS = """() => {
  const wide = document.documentElement.clientWidth, out = [];
  const main = document.querySelector('[data-testid=stMain]');
  for (const box of [document.documentElement, document.body, main].filter(Boolean)) {
    if (box.scrollWidth > box.clientWidth) out.push(`${box.tagName} moves: ${box.scrollWidth} in ${box.clientWidth}`);
  }
  const rolls = (node) => {
    for (let at = node; at && at !== main; at = up(at)) {
      if (['auto', 'scroll'].includes(getComputedStyle(at).overflowX) && at.scrollWidth > at.clientWidth) return at;
    }
    return null;
  };
  for (const node of within(main ?? document.body)) {
    const box = node.getBoundingClientRect();
    if (!box.width || !shown(node) || (box.right <= wide + 1 && box.left >= -1)) continue;
    if (getComputedStyle(node).clipPath !== 'none' || node.closest('.stage, .loupe, svg')) continue;
    const region = rolls(node);
    if (!region) { out.push(`cut: ${node.tagName} ${node.className} ${called(node)}`); continue; }
    const reached = region.matches('[tabindex="0"]') || region.querySelector('input, button, a[href]');
    if (!reached) out.push(`no key reaches: ${region.tagName} ${region.className}`);
  }
  return [...new Set(out)];
}"""

_LEVELS = """() => within(document.body).filter((node) => node.matches('h1, h2, h3, h4, h5, h6') && shown(node) && called(node))
  .map((node) => Number(node.getAttribute('aria-level') ?? node.tagName[1]))"""

_FOCUS = """() => {
  let at = document.activeElement;
  while (at?.shadowRoot?.activeElement) at = at.shadowRoot.activeElement;
  const seen = [at, at.closest('label')].filter(Boolean).map((node) => getComputedStyle(node));
  const ring = seen.some((style) => style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2);
  return { tag: at.tagName, name: (at.getAttribute('aria-label') || at.labels?.[0]?.textContent || at.textContent || '').trim(),
    ring, value: at.value ?? null, inEditor: Boolean(at.closest('.editor')), classes: String(at.className) };
}"""


def weak_text(page: Page) -> list[str]:
    """Words with less than 4.5:1 (3:1 where large) against what lies under them, each with its contrast."""
    return _read(page, _WEAK_TEXT)


def weak_edges(page: Page) -> list[str]:
    """Boxes that take an input, with an edge of less than 3:1."""
    return _read(page, _WEAK_EDGES)


def small_targets(page: Page) -> list[str]:
    """Controls smaller than 24 CSS pixels both by themselves and by their label; links within a sentence may be."""
    return _read(page, _SMALL)


def sideways(page: Page) -> list[str]:
    """What moves the page sideways, is cut at its edge, or moves in a box that no key reaches."""
    return _read(page, _SIDEWAYS)


def heading_levels(page: Page) -> list[int]:
    """The levels of all headings in their order; `aria-level` counts before the tag, as browsers tell screen readers."""
    found: list[int] = page.evaluate(f"() => {{ {_COMMON} return ({_LEVELS})(); }}")
    return found


def focus_of(page: Page) -> dict[str, Any]:
    """What has the focus, also within an editor: tag, name, whether a ring shows, value."""
    found: dict[str, Any] = page.evaluate(_FOCUS)
    return found


def _read(page: Page, reader: str) -> list[str]:
    found: list[str] = page.evaluate(f"() => {{ {_COMMON} return ({reader})(); }}")
    return found
