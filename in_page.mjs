// Functions that run inside the page; each returns a list of faults.

// Nothing reaches out of the window or of its own box, no two pieces of text
// lie on each other.
export function layout() {
  const found = [];
  const width = document.documentElement.clientWidth;
  const pieces = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const node = walker.currentNode;
    const owner = node.parentElement;
    if (!node.data.trim() || owner.closest("script,style,title,desc")) continue;
    if (!owner.checkVisibility()) continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    for (const box of range.getClientRects())
      if (box.width > 0) pieces.push({ box, owner, text: node.data.trim() });
  }
  if (document.documentElement.scrollWidth > width)
    found.push(`overflows: ${document.documentElement.scrollWidth} of ${width} pixels`);
  for (const { box, owner, text } of pieces) {
    if (box.left < -0.5 || box.right > width + 0.5)
      found.push(`overflows the window: "${text}"`);
    const card = owner.closest("li,p,svg,section,body").getBoundingClientRect();
    if (box.left < card.left - 1 || box.right > card.right + 1 ||
        box.top < card.top - 4 || box.bottom > card.bottom + 4)
      found.push(`overflows its box: "${text}"`);
    if (owner.scrollWidth > owner.clientWidth + 1 && owner.clientWidth > 0 &&
        getComputedStyle(owner).overflowX !== "visible")
      found.push(`cut: "${text}"`);
  }
  for (let i = 0; i < pieces.length; i++)
    for (let j = i + 1; j < pieces.length; j++) {
      const a = pieces[i].box, b = pieces[j].box;
      const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left);
      const high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
      if (wide > 1 && high > 3)
        found.push(`overlaps: "${pieces[i].text}" and "${pieces[j].text}"`);
    }
  for (const text of document.querySelectorAll("svg text")) {
    const size = parseFloat(getComputedStyle(text).fontSize) * (text.getScreenCTM()?.a ?? 0);
    if (text.checkVisibility() && size < 9)
      found.push(`small, ${size.toFixed(1)} pixels: "${text.textContent}"`);
  }
  if (pieces.length === 0) found.push("no text");
  return found;
}

// Text in the drawings against the grounds it may lie on: the paper and the
// nights. Relative luminance and ratio by WCAG 2.1, definitions.
export function contrastOfDrawing() {
  const channel = (value) => {
    const c = value / 255;
    return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
  };
  const luminance = (colour) => {
    const [r, g, b] = colour.match(/[\d.]+/g).map(Number).map(channel);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const grounds = [getComputedStyle(document.body).backgroundColor];
  const night = document.querySelector(".night");
  if (night) grounds.push(getComputedStyle(night).fill);
  const found = [];
  for (const text of document.querySelectorAll("svg text"))
    for (const ground of grounds) {
      const a = luminance(getComputedStyle(text).fill), b = luminance(ground);
      const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
      if (ratio < 4.5)
        found.push(`contrast ${ratio.toFixed(2)}: "${text.textContent}"`);
    }
  return [...new Set(found)];
}
