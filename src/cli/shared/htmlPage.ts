import { harmlessText } from '../../runtime/harmlessText.js'

/** Text of anybody as text of a page, in attributes too. */
export const html = (text: string): string =>
  harmlessText(text).replace(/[&<>"']/g, (character) => `&#${character.charCodeAt(0)};`)

/** A whole page. It loads and runs nothing: a file that somebody got by mail must be as harmless as a picture. */
export function htmlPage(title: string, body: string): string {
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; img-src data:; style-src 'unsafe-inline'">
<title>${html(title)}</title>
<style>
${style}
</style>
</head>
<body>
<header>
${look}
</header>
<main>
${body}
</main>
</body>
</html>
`
}

/** Works without script: the page's style asks which of them is chosen. */
const look = `<fieldset class="look">
<legend>Look</legend>
<label><input type="radio" name="look" checked> as the system</label>
<label><input type="radio" name="look" id="look-light"> light</label>
<label><input type="radio" name="look" id="look-dark"> dark</label>
<label><input type="radio" name="look" id="look-ink"> ink only</label>
</fieldset>`

const light = `color-scheme: light;
  --paper: #f6f4ec; --sheet: #fffdf6; --ink: #1b2420; --soft: #4c5650; --line: #b9b6a8; --heard: #155a63; --wrong: #9c1c1f;
  --picture: none;`
const dark = `color-scheme: dark;
  --paper: #14181a; --sheet: #1c2224; --ink: #ece7d8; --soft: #b9b5a7; --line: #4a5254; --heard: #7fd0d6; --wrong: #ff9f97;
  --picture: invert(1);`
const inkOnly = `color-scheme: light;
  --paper: #fff; --sheet: #fff; --ink: #000; --soft: #000; --line: #000; --heard: #000; --wrong: #000;
  --picture: brightness(0);`

const style = `:root { ${light}
  font: 17px / 1.45 Charter, "Bitstream Charter", Cambria, Georgia, "DejaVu Serif", serif; }
@media (prefers-color-scheme: dark) { :root { ${dark} } }
:root:has(#look-light:checked) { ${light} }
:root:has(#look-dark:checked) { ${dark} }
:root:has(#look-ink:checked) { ${inkOnly} font-weight: 500; }
* { box-sizing: border-box; }
body { margin: 0 auto; max-width: 74rem; padding: 0.6rem clamp(0.7rem, 3vw, 2rem) 3rem; background: var(--paper); color: var(--ink); }
h1 { font-size: 1.5rem; line-height: 1.2; margin: 0.6rem 0 0.3rem; overflow-wrap: anywhere; }
h2 { font-size: 1.25rem; font-style: italic; margin: 1.8rem 0 0.4rem; }
h3 { font-size: 1rem; font-weight: normal; margin: 0; overflow-wrap: anywhere; }
p { margin: 0.3rem 0; max-width: 46rem; overflow-wrap: anywhere; }
a { color: inherit; text-underline-offset: 0.18em; }
.look { border: 0; margin: 0; padding: 0; display: flex; flex-wrap: wrap; gap: 0 1rem; color: var(--soft); font-size: 0.88rem; }
.look legend { float: left; padding: 0; margin-right: 1rem; line-height: 48px; }
.look label { display: inline-flex; align-items: center; min-height: 48px; gap: 0.35rem; }
.small, figcaption { font-size: 0.88rem; color: var(--soft); font-variant-numeric: tabular-nums; }
time, td { font-variant-numeric: tabular-nums; }
figure { margin: 0.8rem 0; }
.wide { overflow-x: auto; background: var(--sheet); border: 1px solid var(--line); }
.wide svg { display: block; min-width: 44rem; width: 100%; height: auto; }
svg { fill: none; stroke: var(--ink); stroke-width: 1; }
svg text { fill: var(--soft); stroke: none; font-size: 13px; font-family: inherit; }
svg image, img { filter: var(--picture); }
.grid { stroke: var(--line); }
.heard { stroke: var(--heard); }
.wrong { stroke: var(--wrong); }
.fill { fill: currentColor; stroke: none; }
.cause { stroke: var(--wrong); stroke-width: 1.3; stroke-dasharray: 5 2; vector-effect: non-scaling-stroke; }
.bar { stroke: var(--wrong); stroke-width: 4; vector-effect: non-scaling-stroke; }
.limit { stroke-dasharray: 1 3; stroke-width: 2; vector-effect: non-scaling-stroke; }
.body { fill: var(--soft); fill-opacity: 0.35; stroke: var(--soft); stroke-width: 0.6; }
ol.entries { list-style: none; margin: 0; padding: 0; }
.entry { border-top: 1px solid var(--line); padding: 0.7rem 0; break-inside: avoid; }
.entry b { font-weight: 600; }
.read b { color: var(--heard); }
.damaged b { color: var(--wrong); }
.damaged { border-left: 4px double var(--wrong); padding-left: 0.7rem; }
.signal { display: flex; flex-wrap: wrap; gap: 0.6rem 1rem; margin: 0.4rem 0; }
.signal > div { flex: 1 1 11rem; min-width: 0; }
.signal > div:first-child { flex: 3 1 20rem; }
.signal svg, .signal img { display: block; width: 100%; height: 7rem; background: var(--sheet); border: 1px solid var(--line); }
.signal svg.long { height: 9.1rem; }
.signal .lane svg { height: 8px; border: 0; background: none; }
.lane span { display: block; color: var(--wrong); font-size: 0.88rem; line-height: 1.25; }
.signal img { image-rendering: pixelated; }
/* The ground of a picture that is inverted is inverted with it. */
.signal img { background: none; }
table { border-collapse: collapse; }
th, td { text-align: left; padding: 0.3rem 1rem 0.3rem 0; border-bottom: 1px solid var(--line); vertical-align: middle; }
td:first-child { overflow-wrap: anywhere; min-width: 9rem; }
td:first-child, th:first-child { padding-left: 0.4rem; }
td.number, th.number { text-align: right; }
.pages { display: flex; flex-wrap: wrap; gap: 0 1rem; padding: 0; list-style: none; }
.pages a, td a { display: inline-block; min-height: 48px; padding: 0.7rem 0; }
:root:has(#only-damaged:checked) .entry.read { display: none; }
.choice { display: inline-flex; align-items: center; min-height: 48px; gap: 0.4rem; }
input { width: 1.2rem; height: 1.2rem; accent-color: var(--ink); }
@media print {
  :root, :root:has(#look-dark:checked) { ${light} --paper: #fff; --sheet: #fff; font-size: 11pt; }
  :root:has(#look-ink:checked) { ${inkOnly} }
  .look, .choice { display: none; }
  .wide { overflow: visible; }
  .wide svg { min-width: 0; }
  body { padding: 0; max-width: none; }
}
@media (forced-colors: active) {
  svg { stroke: CanvasText; forced-color-adjust: auto; }
  svg text { fill: CanvasText; }
}`
