//! Colours and rules of the pages.

/// Colours, in light and dark, of the page and the drawing; those with a number are the textures'.
pub const COLOURS: &str = "\
:root{--paper:#fcfbf8;--card:#fff;--ink:#1c2226;--soft:#545c61;--line:#d8d3c8;--wash:#f0ece3;--filler:#e4dfd3;\
--c0:#2a7f78;--c1:#c4862a;--c2:#80497a;--c3:#44689c;--c4:#b3523b;--c5:#6f7c38;--c6:#74604f;--c7:#3f93ad}\
@media screen and (prefers-color-scheme:dark){:root{--paper:#14181a;--card:#1b2023;--ink:#eae7df;--soft:#a9afb2;\
--line:#3a4145;--wash:#22282b;--filler:#3b4347;--c0:#4aa59c;--c1:#d39a45;--c2:#b07aaa;--c3:#7596c8;--c4:#d0765e;\
--c5:#9aa85f;--c6:#a18d7a;--c7:#62b1c9}}\n";

/// The drawing's own rules.
pub const RULES: &str = "\
.map{display:block;width:100%;overflow:visible;font-family:system-ui,\"Segoe UI\",\"Helvetica Neue\",Arial,sans-serif}\
.map text{font-size:13px;fill:var(--ink)}\
.map .a{font-size:12px;fill:var(--soft)}\
.map .a,.map .l{font-family:ui-monospace,\"SF Mono\",Menlo,Consolas,\"DejaVu Sans Mono\",monospace}\
.map .l{font-weight:700;font-size:12px}\
.map .b{font-weight:650;font-size:15px}\
.map .m{text-anchor:middle}.map .e{text-anchor:end}\
.map .b,.map .e{paint-order:stroke;stroke-width:5px;stroke-linejoin:round}.map .on{stroke:var(--wash)}\
.map .plate{fill:var(--paper)}\
.map .frame{fill:none;stroke:var(--ink);stroke-width:1.25}\
.map .tick{stroke:var(--ink);stroke-width:1}\
.map .link{fill:var(--wash)}\
.map .bare{fill:var(--paper)}\
.map .ground{fill:var(--paper)}\
.map .edge{stroke:var(--ink);stroke-width:1;stroke-dasharray:2 3}\n";

/// The page's rules. Sizes that must fit paper are in millimetres.
pub(super) const PAGE: &str = "\
@page{margin:14mm}\
*{box-sizing:border-box}\
html{background:var(--paper);color:var(--ink);-webkit-text-size-adjust:100%}\
body{max-width:60rem;margin:0 auto;padding:2.5rem 1.25rem 3rem;\
font:400 1rem/1.5 system-ui,\"Segoe UI\",\"Helvetica Neue\",Arial,sans-serif;overflow-wrap:anywhere}\
code{font-family:ui-monospace,\"SF Mono\",Menlo,Consolas,\"DejaVu Sans Mono\",monospace;font-size:.92em}\
h1,h2,h3,p,ul,dl,dd,figure{margin:0;padding:0}\
h1{font-size:clamp(1.8rem,7vw,2.4rem);line-height:1.15;font-weight:650;letter-spacing:-.015em}\
.under{display:flex;flex-wrap:wrap;gap:0 1.5rem;margin-top:.35rem;color:var(--soft)}\
.lead{max-width:44rem;margin-top:1.25rem}\
.small{font-size:.85rem;color:var(--soft)}\
.soft{color:var(--soft)}\
.picture{margin:2.5rem 0 3rem}\
.chip{border-top:3px solid var(--ink);padding:1.25rem 0 2.75rem}\
.who{display:flex;flex-wrap:wrap;align-items:flex-start;gap:.25rem 2rem}\
.who h2{font-size:2.2rem;line-height:1.2;font-weight:700}\
.who .part{font-size:2.2rem;line-height:1.2;font-weight:300}\
.who h2.long,h1.long{font-size:1.3rem}\
.who .none{color:var(--soft)}\
.dip{margin-left:auto;flex:none}\
.dip .leg{fill:var(--soft)}.dip .body{fill:var(--wash);stroke:var(--ink)}.dip .notch{fill:var(--paper);stroke:var(--ink)}\
.dip .window{fill:var(--filler);stroke:var(--soft)}.dip .first{fill:var(--ink)}\
.dip text{font-size:12px;fill:var(--ink)}\
.sums{display:flex;flex-wrap:wrap;align-items:flex-end;gap:.75rem 2.5rem;margin:1rem 0 1.5rem}\
.sums p{font-size:.85rem;color:var(--soft)}\
.sums code{display:block;font-size:1.6rem;line-height:1.2;font-weight:600}\
.sums div:first-child code{font-size:3.2rem;line-height:1.05;font-weight:700}\
.warn{border-left:4px solid var(--c4);padding:.35rem 0 .35rem .9rem;margin:0 0 1.25rem;max-width:44rem}\
.pair{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(100%,24rem),1fr));gap:1.5rem 2.5rem}\
dl{display:grid;grid-template-columns:6.2rem minmax(0,1fr);gap:.35rem .75rem;align-content:start}\
dt{color:var(--soft);grid-column:1}dd{grid-column:2}\
.name{font-weight:600}\
.bytes span,.hash span{display:inline-block;white-space:break-spaces}\
.hash span{margin-right:.5ch}\
h3{font-size:1rem;font-weight:650;margin-bottom:.4rem}\
.notes ul{list-style:none;font-size:.92rem;margin-bottom:.5rem}\
.notes li{margin-bottom:.3rem}\
table{border-collapse:collapse;font-variant-numeric:tabular-nums}\
.chip>h3{margin-top:1.5rem}\
th,td{text-align:left;vertical-align:top;padding:.25rem 1.1rem .25rem 0;border-bottom:1px solid var(--line)}\
th{font-weight:400;color:var(--soft);overflow-wrap:normal}td code{white-space:nowrap}td:last-child{min-width:6.5rem}\
table+p{margin-top:.5rem}\
@media (max-width:32rem){dl{display:block}dd{margin:0 0 .5rem}.bytes{font-size:.82em}th,td{padding-right:.7rem;font-size:.88rem}}\
.done{list-style:none;display:flex;flex-wrap:wrap;gap:.4rem 1.75rem;margin-top:1.5rem}\
.done li::before{content:\"\";display:inline-block;width:1rem;height:1rem;margin-right:.5rem;\
border:1.5px solid var(--ink);border-radius:2px;vertical-align:-.15rem}\
.strip,.cautions{border-top:1px solid var(--line);padding:1.5rem 0 2.5rem}\
.strip h2,.cautions h2{font-size:1.25rem;font-weight:650}\
.cut{display:flex;flex-wrap:wrap;margin-top:1rem}\
.label{width:38mm;height:14mm;padding:1.2mm 2mm;border:1px dashed var(--soft);margin:0 -1px -1px 0;\
display:grid;grid-template-columns:auto minmax(0,1fr);grid-template-rows:auto auto 1fr;column-gap:1mm;\
font-size:7pt;line-height:1.25;white-space:nowrap;overflow:hidden}\
.label b{font-size:9pt;grid-column:1/-1}.label code{font-size:9pt;font-weight:700}.label i{font-style:normal;font-size:6.5pt;text-align:right}\
.label span{grid-column:1/-1}\
.cautions ul{list-style:none;columns:2 20rem;column-gap:2.5rem;margin:.75rem 0;font-size:.92rem}\
.cautions li{break-inside:avoid;margin-bottom:.5rem}\
@media print{\
html{background:none;font-size:10pt;print-color-adjust:exact;-webkit-print-color-adjust:exact}\
body{max-width:none;padding:0}\
.chip,.strip,.cautions,.picture{break-inside:avoid}\
.head{break-after:avoid}\
.pair{grid-template-columns:1.2fr 1fr;gap:1rem 1.5rem}\
dl{grid-template-columns:5.6rem minmax(0,1fr);gap:.2rem .5rem}\
.bytes{font-size:.82em}.notes ul{font-size:.85rem;line-height:1.4}.notes li{margin-bottom:.2rem}\
.sums{margin:.5rem 0 1rem}.done{margin-top:1rem}\
.chip{padding:3mm 0 5mm}.strip,.cautions{padding:3mm 0 4mm}\
.picture{margin:5mm 0 6mm}}\n";
