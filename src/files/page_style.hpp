// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string_view>

namespace cradlewright {

/// Style sheet of report.html: screen from 360 px up, light and dark, and paper. No colour carries meaning alone:
/// verdicts have a sign and a word, cut edges a thickness and a dash.
inline constexpr std::string_view page_style = R"css(
:root{--paper:#fafbfa;--card:#fff;--ink:#17211f;--soft:#52605d;--rule:#cfd8d5;--deep:#0c5660;--wash:#e7efee;
--plug:#8b9794;--clay:#b5672b;--wood:#e9dfcf;--line:#b3123a;--bad:#a31621;--warn:#8a5a00;--good:#17663a;--odd:#4a4f8a}
@media (prefers-color-scheme:dark){:root{--paper:#101615;--card:#161e1d;--ink:#e4ebe9;--soft:#a3b1ae;--rule:#33403d;
--deep:#7cc7cf;--wash:#1d2a29;--plug:#93a09d;--clay:#d98b4e;--wood:#3a3226;--line:#ff6f8f;--bad:#ff8a8a;--warn:#f0b54a;
--good:#6fd39a;--odd:#aab0f5}}
*{box-sizing:border-box}
html{-webkit-text-size-adjust:100%}
body{margin:0;background:var(--paper);color:var(--ink);font:16px/1.5 "Segoe UI","Noto Sans","DejaVu Sans",sans-serif}
main,header.top,footer{max-width:1040px;margin:0 auto;padding:0 20px}
header.top{padding-top:28px}
.kicker{margin:0;color:var(--soft);font-size:.85rem}
h1{margin:.1em 0 .5em;font-size:1.75rem;line-height:1.2;overflow-wrap:anywhere}
h2{margin:0 0 .6em;font-size:1.3rem;line-height:1.25}
h2 .no{display:inline-block;min-width:1.6em;color:var(--deep);font-variant-numeric:tabular-nums}
h3{margin:1.6em 0 .5em;font-size:1.02rem}
p,ul,ol{max-width:46rem}
section{padding:26px 0 10px;border-top:2px solid var(--ink);margin-top:34px}
a{color:var(--deep)}
code,.id,td.n,.fact b{font-family:ui-monospace,"DejaVu Sans Mono",Consolas,monospace;font-size:.9em}
td.n,.fact b{font-variant-numeric:tabular-nums}
.verdict{border:2px solid currentColor;border-left-width:12px;padding:14px 18px;margin:0 0 18px;background:var(--card)}
.verdict p{color:var(--ink);margin:.2em 0}
.verdict .say{font-size:1.2rem;font-weight:700;line-height:1.35}
.verdict ol{margin:.7em 0 0;padding-left:1.4em;color:var(--ink);max-width:46rem}
.verdict li{margin:.35em 0}
.pass{color:var(--good)}.marginal{color:var(--warn)}.fail{color:var(--bad)}.unknown{color:var(--odd)}
.not-applicable{color:var(--soft)}
.facts{display:flex;flex-wrap:wrap;gap:10px 28px;margin:0 0 18px;padding:0}
.fact{border-left:3px solid var(--rule);padding:0 0 0 10px}
.fact dt{font-size:.8rem;color:var(--soft)}
.fact dd{margin:0;overflow-wrap:anywhere}
nav ul{list-style:none;display:flex;flex-wrap:wrap;gap:4px 18px;padding:0;margin:0;font-size:.92rem;max-width:none}
.scroll{overflow-x:auto;margin:0 0 14px}
table{border-collapse:collapse;width:100%;font-size:.9rem;background:var(--card)}
caption{text-align:left;color:var(--soft);padding:4px 0;font-size:.85rem}
th,td{text-align:left;vertical-align:top;padding:6px 10px;border-bottom:1px solid var(--rule)}
thead th{border-bottom:2px solid var(--ink);font-size:.82rem;white-space:nowrap}
tbody th{font-weight:600}
td.n,th.n{text-align:right;white-space:nowrap}
.id{white-space:nowrap}
.small{font-size:.84rem;color:var(--soft)}
.group th{padding-top:16px;border-bottom:1px solid var(--rule)}
.group .small{font-weight:400}
.checks td:nth-child(2){overflow-wrap:anywhere;min-width:9em}
.scroll td:not(:last-child){white-space:nowrap}
.checks td:nth-child(5){min-width:15em}
.badge{white-space:nowrap;font-weight:700}
.badge span{display:inline-block;width:1.5em;font-weight:700}
figure{margin:0 0 18px;border:1px solid var(--rule);background:var(--card);padding:8px 8px 0}
figcaption{padding:6px 6px 8px;font-size:.85rem;color:var(--soft)}
figcaption b{color:var(--ink)}
figure .scroll{margin:0}
svg{display:block;width:100%;height:auto}
.broad svg{min-width:620px}
.grid{display:grid;grid-template-columns:repeat(auto-fill,minmax(min(225px,100%),1fr));gap:14px}
.grid figure{margin:0}
svg path,svg circle{fill:none;stroke:var(--ink);stroke-width:1}
svg text{font:11px "Segoe UI","Noto Sans","DejaVu Sans",sans-serif;fill:var(--ink);font-variant-numeric:tabular-nums}
svg text.strong{font-weight:700}
svg text.name{font-size:13px;font-weight:700;fill:var(--line)}
svg text.halo{paint-order:stroke;stroke:var(--card);stroke-width:3px;stroke-linejoin:round}
svg .fit{stroke-width:2.2}
svg .rough{stroke-width:1;stroke-dasharray:5 3}
svg .sheet,svg .part{fill:var(--wash);fill-rule:evenodd;stroke:none}
svg .part{stroke:var(--ink)}
svg .panel{fill:var(--wash);stroke:var(--deep)}
svg .thin{stroke-width:.5}
svg .board,svg .wood{fill:var(--wood);stroke:var(--soft);fill-rule:evenodd}
svg .rib{stroke:var(--soft);stroke-dasharray:8 3 2 3}
svg .plug{stroke:var(--plug);stroke-width:2}
svg .section{fill:var(--plug);fill-rule:evenodd;stroke:var(--ink);stroke-width:1.4}
svg .ghost{stroke:var(--soft);stroke-dasharray:3 4}
svg .parting{stroke:var(--line);stroke-width:2.4}
svg circle.node{fill:var(--card);stroke:var(--line);stroke-width:1.5}
svg .clay{fill:var(--clay);stroke:var(--clay)}
svg .mark{stroke:var(--deep);stroke-width:.8}
svg .dim,svg .lead{stroke:var(--soft);stroke-width:.8}
svg .lead{stroke-dasharray:2 3}
svg .base{stroke-width:1.4}
svg .pull{stroke:var(--deep);stroke-width:2}
#view-stage{height:min(64vh,560px);min-height:300px;background:var(--card);border:1px solid var(--rule);color:var(--ink);
display:flex;align-items:center;justify-content:center;padding:0}
#view-stage p{padding:0 16px}
#view-stage canvas{display:block;width:100%;height:100%;cursor:grab}
#view-controls[hidden]{display:none}
#view-say{margin:8px 0;min-height:3em;max-width:none}
#view-controls button,#view-controls select,.ticks button{font:inherit;font-size:.92rem;color:var(--ink);
background:var(--card);border:1px solid var(--soft);border-radius:3px;padding:5px 11px;margin:2px 2px 2px 0}
#view-controls select{max-width:16em}
.view-row{display:flex;flex-wrap:wrap;gap:6px 18px;align-items:center;margin:8px 0;max-width:none}
.view-row label{display:inline-flex;gap:8px;align-items:center}
.view-row output{min-width:9em;color:var(--soft)}
#view-kinds{border:1px solid var(--rule);margin:8px 0;padding:4px 12px 8px;display:flex;flex-wrap:wrap;gap:4px 18px}
#view-kinds legend{color:var(--soft);font-size:.85rem}
#view-legend{list-style:none;padding:0;margin:8px 0;display:flex;flex-wrap:wrap;gap:4px 18px;max-width:none}
#view-legend[hidden]{display:none}
#view-legend svg{display:inline-block;width:20px;height:12px;vertical-align:-1px;border:1px solid var(--soft)}
#tilt-try[hidden]{display:none}
#tilt-at{width:min(24em,60vw)}
#tilt-say{min-height:3em;max-width:none}
tr.picked th,tr.picked td{background:var(--wash);border-bottom:2px solid var(--deep)}
svg .tilt-grid{stroke:var(--rule)}
svg .tilt-told{stroke:var(--soft);stroke-dasharray:3 3}
svg .tilt-best{stroke-width:1.5}
svg .tilt-curve{stroke-width:2;stroke-linejoin:round}
svg .tilt-head{font-weight:700}
input[type=checkbox]{width:1.15em;height:1.15em;accent-color:var(--deep)}
details summary{cursor:pointer;font-weight:600;padding:6px 0}
footer{border-top:2px solid var(--ink);margin-top:34px;padding:14px 20px 40px;color:var(--soft);font-size:.85rem}
:focus-visible{outline:3px solid var(--deep);outline-offset:2px}
@media (max-width:700px){
main,header.top,footer{padding-left:14px;padding-right:14px}
h1{font-size:1.4rem}
.checks thead{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}
.checks,.checks tbody,.checks tr,.checks td,.checks th{display:block}
.checks tr{border-bottom:2px solid var(--rule);padding:8px 0}
.checks td,.checks th{border:0;padding:3px 8px;text-align:left;white-space:normal}
.checks td:nth-child(2),.checks td:nth-child(5){min-width:0}
.checks td[data-label]::before{content:attr(data-label) ": ";font-family:inherit;color:var(--soft)}
}
@media print{
:root{--paper:#fff;--card:#fff;--ink:#000;--soft:#444;--rule:#bbb;--deep:#0c5660;--wash:#eee;--plug:#777;--clay:#b5672b;
--wood:#eee;--line:#b3123a;--bad:#000;--warn:#000;--good:#000;--odd:#000}
@page{margin:14mm}
body{font-size:10pt}
main,header.top,footer{max-width:none;padding:0}
nav,#view-controls,#tilt-try{display:none}
#view-stage{height:90mm}
#view-stage canvas{object-fit:contain}
section{break-before:auto;margin-top:14pt;padding-top:10pt}
h2,h3{break-after:avoid}
figure,.verdict,.facts,tr{break-inside:avoid}
thead{display:table-header-group}
.scroll{overflow:visible}
.broad svg{min-width:0}
a{color:inherit;text-decoration:none}
}
)css";

}  // namespace cradlewright
