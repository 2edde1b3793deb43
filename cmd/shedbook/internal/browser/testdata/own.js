// What axe-core does not see or only guesses, read from the page as it is laid out. Each function returns lines, one a fault: "rule: what and where".
(() => {
  const say = (e) => {
    const text = (e.textContent || "").trim().replace(/\s+/g, " ").slice(0, 40);
    const name = e.getAttribute("class") ? "." + e.getAttribute("class").trim().replace(/\s+/g, ".") : "";
    return `${e.tagName.toLowerCase()}${name} "${text}"`;
  };
  const shown = (e) => {
    if (!e.checkVisibility({ visibilityProperty: true, opacityProperty: true, contentVisibilityAuto: true })) return false;
    const r = e.getBoundingClientRect();
    return r.width > 1 && r.height > 1;
  };
  // A colour as computed styles give it: rgb(), rgba(). Alpha is laid over what is behind.
  const parse = (c) => {
    const n = (c.match(/[\d.]+/g) || []).map(Number);
    return n.length < 3 ? null : { rgb: n.slice(0, 3), a: n.length > 3 ? n[3] : 1 };
  };
  const over = (top, a, below) => top.map((v, i) => v * a + below[i] * (1 - a));
  // Relative luminance and contrast ratio: WCAG 2.2, definitions.
  const light = (rgb) => {
    const [r, g, b] = rgb.map((v) => v / 255).map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const ratio = (a, b) => {
    const [hi, lo] = [light(a), light(b)].sort((x, y) => y - x);
    return (hi + 0.05) / (lo + 0.05);
  };
  const ground = (e) => {
    const layers = [];
    for (let n = e; n; n = n.parentElement) {
      const c = parse(getComputedStyle(n).backgroundColor);
      if (c && c.a > 0) layers.push(c);
      if (c && c.a === 1) break;
    }
    return layers.reverse().reduce((below, c) => over(c.rgb, c.a, below), [255, 255, 255]);
  };
  const paint = (style, what, below) => {
    const c = parse(style[what]);
    if (!c || style[what] === "none") return null;
    return over(c.rgb, c.a * Number(style[what + "Opacity"] || 1), below);
  };
  // What lies under the middle of a drawing's text: the uppermost filled shape, else the page.
  const under = (text) => {
    text.scrollIntoView({ block: "center" });
    const r = text.getBoundingClientRect();
    let below = ground(text.closest("svg"));
    const hit = document.elementsFromPoint(r.left + r.width / 2, r.top + r.height / 2).filter((e) => e !== text && e.closest("svg") === text.closest("svg") && !["svg", "text", "tspan"].includes(e.tagName));
    for (const e of hit.reverse()) {
      const f = paint(getComputedStyle(e), "fill", below);
      if (f) below = f;
    }
    return below;
  };
  const texts = () => {
    const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    const seen = new Set();
    while (walk.nextNode()) {
      const e = walk.currentNode.parentElement;
      if (walk.currentNode.data.trim() && !["STYLE", "SCRIPT", "TITLE", "DESC", "title", "desc"].includes(e.tagName) && shown(e)) seen.add(e);
    }
    return [...seen];
  };
  // contrast lists texts below the ratio wanted; the same pair of colours is named once.
  const contrast = (least) => {
    const out = new Map();
    const note = (e, front, back) => {
      const r = ratio(front, back);
      if (r < least) out.set(`${front.map(Math.round)} on ${back.map(Math.round)}`, `contrast ${r.toFixed(2)}: ${say(e)} ${front.map(Math.round)} on ${back.map(Math.round)}`);
    };
    for (const e of texts()) {
      const style = getComputedStyle(e);
      if (e.closest("svg")) {
        const back = under(e);
        const front = paint(style, "fill", back);
        if (front) note(e, front, back);
        continue;
      }
      const back = ground(e), c = parse(style.color);
      note(e, over(c.rgb, c.a, back), back);
      const before = getComputedStyle(e, "::before");
      if (before.content !== "none" && before.content !== "normal") note(e, parse(before.color).rgb, back);
    }
    return [...out.values()];
  };
  // lines that carry data: WCAG 2.2, 1.4.11, three to one against the page.
  const lines = () => {
    const out = new Map();
    for (const e of document.querySelectorAll("svg path, svg rect, svg circle, svg line")) {
      const kind = e.getAttribute("class") || "";
      if (!e.checkVisibility() || /(^| )(grid|band|thin|ahead|hair|free)( |$)/.test(kind)) continue;
      const back = ground(e.closest("svg")), style = getComputedStyle(e);
      const best = Math.max(...["stroke", "fill"].map((w) => paint(style, w, back)).filter(Boolean).map((c) => ratio(c, back)), 0);
      if (best > 0 && best < 3) out.set(kind, `line ${best.toFixed(2)}: ${kind}`);
    }
    return [...out.values()];
  };
  const structure = () => {
    const out = [];
    if (!document.title.trim()) out.push("title: none");
    if (document.documentElement.lang !== "en") out.push(`lang: "${document.documentElement.lang}"`);
    for (const e of document.querySelectorAll("[style]")) out.push(`style attribute: ${say(e)}`);
    for (const e of document.querySelectorAll("script, iframe, object, embed, link, base, form")) out.push(`element: ${say(e)}`);
    for (const e of document.querySelectorAll("*")) for (const a of e.attributes) {
      if (/^on/i.test(a.name)) out.push(`handler: ${a.name} of ${say(e)}`);
      if (["href", "src", "action", "xlink:href"].includes(a.name) && !/^(#|data:image\/)/.test(a.value)) out.push(`address: ${a.value} of ${say(e)}`);
    }
    for (const e of document.querySelectorAll("svg")) {
      if (e.getAttribute("aria-hidden") === "true") continue;
      const title = e.querySelector(":scope > title"), desc = e.querySelector(":scope > desc");
      if (e.getAttribute("role") !== "img" || !title || !title.textContent.trim() || !desc || !desc.textContent.trim()) out.push(`svg: no role, title or desc: ${say(e)}`);
    }
    for (const e of document.querySelectorAll("img")) if (!(e.getAttribute("alt") || "").trim()) out.push("img: no alt");
    for (const e of document.querySelectorAll("table:not([role=presentation])")) {
      const head = [...e.querySelectorAll(":scope > thead th")];
      if (!head.length || head.some((h) => h.getAttribute("scope") !== "col")) out.push(`table: no column headers: ${say(e)}`);
      for (const row of e.querySelectorAll(":scope > tbody > tr")) {
        const wide = [...row.cells].reduce((n, c) => n + c.colSpan, 0);
        if (head.length && wide !== head.length) { out.push(`table: ${wide} cells under ${head.length} headers: ${say(row)}`); break; }
        if (row.querySelector(":scope > th:not([scope])")) { out.push(`table: a header without scope: ${say(row)}`); break; }
      }
    }
    let last = 0;
    const heads = [...document.querySelectorAll("h1, h2, h3, h4, h5, h6")];
    if (heads.filter((h) => h.tagName === "H1").length !== 1) out.push("headings: not one h1");
    for (const h of heads) {
      const n = Number(h.tagName[1]);
      if (n > last + 1) out.push(`headings: h${n} after h${last}: ${say(h)}`);
      last = n;
    }
    const ids = [...document.querySelectorAll("[id]")].map((e) => e.id);
    for (const id of new Set(ids.filter((v, i) => ids.indexOf(v) !== i))) out.push(`id twice: ${id}`);
    for (const a of document.querySelectorAll("a[href^='#']")) if (!document.getElementById(a.getAttribute("href").slice(1))) out.push(`link to nothing: ${a.getAttribute("href")}`);
    return out;
  };
  // Targets of a finger: WCAG 2.2, 2.5.8, without its exception for links in running text.
  const targets = () => [...document.querySelectorAll("a, summary, button, input, select, textarea")].filter(shown)
    .map((e) => [e, e.getBoundingClientRect()]).filter(([, r]) => r.width < 23.9 || r.height < 23.9).map(([e, r]) => `target ${r.width.toFixed(0)} x ${r.height.toFixed(0)}: ${say(e)}`);
  const reflow = (width) => {
    const out = [];
    if (document.documentElement.scrollWidth > width) {
      out.push(`reflow: ${document.documentElement.scrollWidth} px wide at ${width}`);
      for (const e of document.querySelectorAll("body *")) {
        if (out.length < 6 && shown(e) && e.getBoundingClientRect().right > width + 1 && ![...e.children].some((c) => c.getBoundingClientRect().right > width + 1)) out.push(`reflow: reaches ${e.getBoundingClientRect().right.toFixed(0)}: ${say(e)}`);
      }
    }
    for (const e of document.querySelectorAll("svg text")) {
      if (e.checkVisibility() && e.getBoundingClientRect().height < 8) { out.push(`reflow: text ${e.getBoundingClientRect().height.toFixed(1)} px high: ${say(e)}`); break; }
    }
    return out;
  };
  const millimetre = 96 / 25.4;
  // Boxes a pencil writes in, in print, and type no smaller than 9 pt anywhere, 11 pt in running text.
  const boxes = () => {
    const out = [];
    for (const e of document.querySelectorAll(".box")) {
      const r = e.getBoundingClientRect();
      if (e.checkVisibility() && (r.height < 9 * millimetre - 0.5 || r.width < 9 * millimetre - 0.5)) { out.push(`box ${(r.width / millimetre).toFixed(1)} x ${(r.height / millimetre).toFixed(1)} mm: ${say(e)}`); }
    }
    return out.slice(0, 5);
  };
  // A box to write into on a telephone takes the whole line.
  const room = () => [...document.querySelectorAll("td.write .box")].filter((e) => e.checkVisibility())
    .filter((e) => e.getBoundingClientRect().width < 0.9 * e.closest("section").clientWidth).slice(0, 3).map((e) => `box ${e.getBoundingClientRect().width.toFixed(0)} px wide of ${e.closest("section").clientWidth}`);
  const type = (least) => {
    const out = new Map();
    for (const e of texts()) {
      if (e.closest("svg") || e.closest("thead[aria-hidden]")) continue;
      const pt = (parseFloat(getComputedStyle(e).fontSize) * 72) / 96;
      if (pt < least - 0.05) out.set(pt + e.tagName + e.className, `type ${pt.toFixed(1)} pt: ${say(e)}`);
    }
    return [...out.values()];
  };
  // Words cut off by their own frame: on paper nobody can scroll to them.
  const clipped = () => [...document.querySelectorAll("body *")].filter((e) => !["svg", "SVG"].includes(e.tagName) && !e.closest("svg") && e.checkVisibility() && e.clientHeight > 1)
    .filter((e) => /hidden|clip|auto|scroll/.test(getComputedStyle(e).overflowY + getComputedStyle(e).overflowX) && (e.scrollHeight > e.clientHeight + 2 || e.scrollWidth > e.clientWidth + 2)).map((e) => `cut off: ${say(e)}`);
  window.own = { clipped, contrast, lines, structure, targets, reflow, boxes, room, type };
})();
