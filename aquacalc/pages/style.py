"""Style sheet of the report's page: plain, printable, readable without colour and on a small screen."""

CSS = """
:root { --ink: #1a1a1a; --soft: #555; --rule: #c9c9c9; --water: #00528a; --bad: #a32a00; --may: #7a5200;
  --pale: #f4f4f2; }
* { box-sizing: border-box; }
html { font: 16px/1.5 system-ui, "Segoe UI", "Liberation Sans", Arial, sans-serif; color: var(--ink);
  background: #fff; -webkit-text-size-adjust: 100%; }
body { margin: 0 auto; padding: 1.5rem 1.25rem 3rem; max-width: 62rem; overflow-wrap: break-word; }
h1 { font-size: 1.75rem; line-height: 1.2; margin: 0 0 .3rem; }
h2 { font-size: 1.3rem; line-height: 1.3; margin: 2.4rem 0 .5rem; padding-top: .5rem;
  border-top: 2px solid var(--ink); }
h3 { font-size: 1.05rem; line-height: 1.35; margin: 1.4rem 0 .3rem; }
h4 { font-size: 1rem; margin: 1rem 0 .2rem; }
p { margin: .4rem 0 .7rem; max-width: 46rem; }
a { color: var(--water); text-underline-offset: .15em; }
a:focus-visible, summary:focus-visible, .scroll:focus-visible {
  outline: 3px solid var(--water); outline-offset: 2px; }
.note, .soft { color: var(--soft); }
.verdict { font-size: 1.15rem; font-weight: 700; margin: 1rem 0; padding: .6rem .9rem; max-width: none;
  border: 2px solid var(--ink); border-left-width: 10px; }
.verdict.may-or-may-not { border-color: var(--may); border-style: dotted; border-left-style: solid; }
.verdict.does-not { border-color: var(--bad); border-style: dashed; border-left-style: solid; }
nav ul { list-style: none; margin: 1rem 0 0; padding: 0; display: flex; flex-wrap: wrap; gap: .2rem 1.1rem; }
.finding { border: 1px solid var(--rule); border-left: 8px solid var(--ink); padding: .1rem 1rem .5rem;
  margin: .8rem 0; break-inside: avoid; }
.finding.does-not { border-left-color: var(--bad); }
.finding.may-or-may-not { border-left-color: var(--may); border-left-style: dotted; }
.finding.watch { border-left-style: double; }
.finding h3 { margin-top: .6rem; }
.tag { display: inline-block; font-size: .8rem; font-weight: 700; padding: 0 .45rem; margin-right: .4rem;
  border: 1.5px solid currentColor; }
.finding.does-not .tag { color: var(--bad); }
.finding.may-or-may-not .tag { color: var(--may); }
p.figures { font-weight: 700; margin: .2rem 0 .4rem; }
dl.figures { display: flex; flex-wrap: wrap; gap: .2rem 1.8rem; margin: .2rem 0 .4rem; }
dl.figures div { display: flex; gap: .4rem; }
dl.figures dt { color: var(--soft); }
dl.figures dd { margin: 0; font-weight: 700; }
.key { font-size: 1.05rem; }
ul.good { list-style: none; padding: 0; margin: .3rem 0; }
ul.good > li { border-bottom: 1px solid var(--rule); padding: .25rem 0; }
ul.good p { margin: .3rem 0 .3rem 1.2rem; }
figure { margin: 1rem 0 1.6rem; break-inside: avoid; }
figcaption { color: var(--soft); font-size: .92rem; max-width: 46rem; margin-top: .3rem; }
.scroll { overflow-x: auto; max-width: 100%; }
.scroll > svg { display: block; width: 100%; min-width: 44rem; height: auto; }
table { border-collapse: collapse; width: 100%; margin: .6rem 0; font-variant-numeric: tabular-nums; }
caption { text-align: left; font-weight: 700; padding: .3rem 0; }
th, td { text-align: left; vertical-align: top; padding: .3rem .6rem .3rem 0;
  border-bottom: 1px solid var(--rule); }
thead th { border-bottom: 2px solid var(--ink); vertical-align: bottom; }
tbody th { font-weight: 400; }
table.rows { table-layout: fixed; }
table.rows th { width: 36%; }
table.rows .value { font-weight: 700; margin-right: .6rem; }
table.rows .note { font-size: .92rem; }
table.wide td, table.wide thead th:not(:first-child) { text-align: right; white-space: nowrap;
  padding-left: .6rem; }
table.wide thead th { white-space: normal; font-size: .92rem; line-height: 1.25; }
table.wide td.words { text-align: left; white-space: normal; min-width: 9rem; }
table.wide tbody th { min-width: 6rem; }
.unseen { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); }
details { margin: .2rem 0; }
summary { cursor: pointer; color: var(--water); }
ul.good summary { color: inherit; }
.working { border-left: 3px solid var(--rule); padding: .1rem 0 .1rem .9rem; margin: .3rem 0 .6rem;
  font-size: .95rem; }
.working ul { margin: .2rem 0; padding-left: 1.1rem; }
.working:target { border-left-color: var(--water); background: var(--pale); }
.math { overflow-x: auto; overflow-y: hidden; padding: .2rem 0; }
.math div { margin: .45rem 0; white-space: nowrap; }
math { font-size: 1.12em; font-family: "STIX Two Math", "Cambria Math", "Latin Modern Math",
  "DejaVu Math TeX Gyre", math; }
.warning { font-weight: 700; }
ul.sources { padding-left: 1.1rem; }
ul.sources li { margin: .25rem 0; }
footer { margin-top: 2.5rem; border-top: 1px solid var(--rule); padding-top: .6rem; color: var(--soft);
  font-size: .92rem; }
@media (max-width: 40rem) {
  body { padding: 1rem .9rem 2rem; }
  h1 { font-size: 1.45rem; }
  table.rows tr, table.rows th, table.rows td { display: block; width: auto; }
  table.rows th { border-bottom: 0; padding-bottom: 0; }
  table.rows td { padding-top: 0; }
}
@media (min-width: 40.01rem) { /* a calculation takes the whole row, under the label too */
  table.rows .working { margin-left: calc(-36% / .64); }
}
@media print {
  @page { margin: 16mm 15mm; }
  html { font-size: 10.5pt; }
  body { max-width: none; padding: 0; }
  nav { display: none; }
  a { color: inherit; text-decoration: none; }
  .scroll { overflow: visible; }
  .scroll > svg { min-width: 0; }
  table.wide { font-size: .76rem; }
  table.wide td, table.wide thead th { padding: .2rem .25rem; }
  h2, h3, h4, caption { break-after: avoid; }
  tr { break-inside: avoid; }
  details:not([open]) > summary { color: inherit; }
}
"""
