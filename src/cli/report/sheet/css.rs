//! Colours and rules of the pages on a screen.

/// Colours, in light and dark, of the page and the drawing; those with a number are the textures'.
pub const COLOURS: &str = "\
:root{--paper:#fcfbf8;--card:#fff;--ink:#1c2226;--soft:#545c61;--line:#d8d3c8;--wash:#f0ece3;--filler:#e4dfd3;\
--c0:#2a7f78;--c1:#c4862a;--c2:#80497a;--c3:#44689c;--c4:#a8452e;--c5:#6f7c38;--c6:#74604f;--c7:#3f93ad}\
@media screen and (prefers-color-scheme:dark){:root{--paper:#14181a;--card:#1b2023;--ink:#eae7df;--soft:#a9afb2;\
--line:#3a4145;--wash:#22282b;--filler:#3b4347;--c0:#4aa59c;--c1:#d39a45;--c2:#b07aaa;--c3:#7596c8;--c4:#e08a72;\
--c5:#9aa85f;--c6:#a18d7a;--c7:#62b1c9}}\n";

/// The map's own rules.
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

/// The rules of the picture of differences.
pub(super) const DIFFERENCES: &str = "\
.differences text{font:12.5px system-ui,\"Segoe UI\",\"Helvetica Neue\",Arial,sans-serif;fill:var(--ink)}\
.differences .strong{font-weight:700}.differences .soft{fill:var(--soft)}\
.differences .mono{font-family:ui-monospace,\"SF Mono\",Menlo,Consolas,\"DejaVu Sans Mono\",monospace;font-size:12px}\
.differences .end{text-anchor:end}\
.differences .up{fill:url(#rising)}.differences .down{fill:url(#falling)}.differences .both{fill:url(#lattice)}\
.differences .low{fill:var(--line)}.differences .high{fill:var(--soft)}\
.differences .stroke{stroke:var(--ink);stroke-width:1;fill:none}\
.differences .grid{stroke:var(--soft);fill:none}\
.differences .page{fill:var(--paper)}.differences .ground{fill:var(--card);stroke:var(--ink)}\
.differences .look{fill:var(--c4)}.differences .on{fill:var(--paper);font-weight:700}\
.differences .blamed{fill:var(--c4);font-weight:700}\n";

/// The page's rules. Sizes that must fit paper are in millimetres.
pub(super) const PAGE: &str = "\
@page{margin:14mm}\
*{box-sizing:border-box}\
html{background:var(--paper);color:var(--ink);-webkit-text-size-adjust:100%}\
body{max-width:60rem;margin:0 auto;padding:2.5rem 1.25rem 3rem;\
font:400 1rem/1.5 system-ui,\"Segoe UI\",\"Helvetica Neue\",Arial,sans-serif;overflow-wrap:anywhere}\
code{font-family:ui-monospace,\"SF Mono\",Menlo,Consolas,\"DejaVu Sans Mono\",monospace;font-size:.92em}\
h1,h2,h3,p,ul,ol,dl,dd,figure{margin:0;padding:0}\
h1{font-size:clamp(1.6rem,7vw,2.4rem);line-height:1.15;font-weight:650;letter-spacing:-.015em}\
h2{font-size:1.15rem;font-weight:650}\
.under{display:flex;flex-wrap:wrap;gap:0 1.5rem;margin-top:.35rem;color:var(--soft)}\
.small{font-size:.85rem;color:var(--soft)}\
.soft{color:var(--soft)}\
.decide{list-style:none;counter-reset:line;margin:1.25rem 0 1.5rem;max-width:52rem}\
.decide li{counter-increment:line;position:relative;padding-left:1.9rem;margin-bottom:.25rem}\
.decide li::before{content:counter(line);position:absolute;left:0;width:1.35rem;text-align:center;font-weight:700;\
border-bottom:2px solid var(--c1);line-height:1.3}\
table{border-collapse:collapse;font-variant-numeric:tabular-nums}\
th,td{text-align:left;vertical-align:top;padding:.3rem 1.1rem .3rem 0;border-bottom:1px solid var(--line)}\
th{font-weight:400;color:var(--soft);overflow-wrap:normal;font-size:.85rem;vertical-align:bottom}\
.sheet{width:100%;border-top:3px solid var(--ink)}\
.sheet .socket{font-weight:700;font-size:1.15rem}.sheet .part{font-size:1.05rem}\
.sheet .first{font-size:1.45rem;font-weight:700;line-height:1.1}\
.sheet.one .first{font-size:3rem}\
.sheet .sum p,.sheet .file .flag{font-size:.85rem}\
.sheet th.box,.sheet td.box{text-align:center;padding-right:.4rem}.sheet .word{display:none}\
.flag{color:var(--c4);font-weight:650}\
.tick,.done li::before{content:\"\";display:inline-block;width:1.05rem;height:1.05rem;border:1.5px solid var(--ink);\
border-radius:2px;vertical-align:-.15rem}\
.done li::before{margin-right:.5rem}\
.picture{margin:2rem 0 2.5rem}\
.chip{border-top:3px solid var(--ink);padding:1rem 0 2rem;margin-top:1.5rem}\
.chip.erased{padding:.5rem 0;margin-top:.75rem;border-top-width:1px}\
.alone .chip{border-top:0;padding-top:.5rem;margin-top:.5rem}\
.who{display:flex;flex-wrap:wrap;align-items:baseline;gap:.1rem 1.5rem;margin-bottom:.75rem}\
.who h2,.who .part{font-size:1.9rem;line-height:1.2}.who h2{font-weight:700}.who .part{font-weight:300}\
.who h2.long,h1.long{font-size:1.3rem}\
.who .none{color:var(--soft)}\
.who .big{margin-left:auto}.who .big code{font-size:1.9rem;font-weight:700;line-height:1.1}\
.warn{border-left:4px solid var(--c4);padding:.25rem 0 .25rem .8rem;margin:.75rem 0;max-width:52rem}\
.pair{display:grid;grid-template-columns:224px minmax(0,1fr);gap:1rem 2rem;align-items:start}\
.pair>.about:only-child{grid-column:1/-1}\
.dip{display:block;margin:0 auto;font-family:system-ui,\"Segoe UI\",\"Helvetica Neue\",Arial,sans-serif}\
.dip text{font-size:11.5px;fill:var(--ink)}\
.dip .number{fill:var(--soft)}\
.dip .body{fill:var(--wash);stroke:var(--ink);stroke-width:1.25}.dip .notch{fill:var(--paper);stroke:var(--ink)}\
.dip .window{fill:none;stroke:var(--line);stroke-width:3}.dip .first{fill:var(--ink)}\
.dip .kind{text-anchor:middle;font-size:12px;fill:var(--soft)}\
.dip rect.address{fill:var(--c3)}.dip rect.data{fill:var(--c1)}.dip rect.enable{fill:var(--c2)}\
.dip rect.vpp,.dip rect.look{fill:var(--c4)}.dip rect.supply{fill:var(--ink)}.dip rect.nc{fill:var(--line)}\
.dip text.data{font-weight:650}.dip text.vpp{fill:var(--c4);font-weight:650}.dip text.supply{font-weight:700}\
.dip text.nc{fill:var(--soft)}\
.dip .plate{fill:var(--c4)}.dip text.look{fill:var(--paper);font-weight:700}\
dl{display:grid;grid-template-columns:5.6rem minmax(0,1fr);gap:.3rem .75rem;align-content:start}\
dt{color:var(--soft);grid-column:1}dd{grid-column:2}\
.name{font-weight:600}\
.sums span{display:inline-block;margin-right:1.1rem}.sums code{font-weight:600}\
.bytes span,.hash span{display:inline-block;white-space:break-spaces}\
.hash span{margin-right:.5ch}\
h3{font-size:1rem;font-weight:650;margin-bottom:.4rem}\
.notes{font-size:.9rem;margin-top:.75rem;max-width:46rem}\
.banks{columns:2 18rem;column-gap:2rem;margin-top:1.25rem}.banks h3{break-after:avoid}.banks tr,.banks p{break-inside:avoid}\
td code{white-space:nowrap}\
table+p{margin-top:.5rem}\
.done{list-style:none;display:flex;flex-wrap:wrap;gap:.35rem 1.5rem;margin-top:.9rem}\
.lines{display:flex;flex-wrap:wrap;gap:.8rem 1.25rem;margin-top:1rem;font-size:.9rem;color:var(--soft)}\
.lines p{display:flex;align-items:flex-end;flex:1 1 8rem;gap:.5rem;overflow-wrap:normal}.lines p:nth-child(n+3){flex:2 1 16rem}\
.rule{flex:1 1 3rem;border-bottom:1px solid var(--ink);height:1.3em}\
.strip,.cautions{border-top:1px solid var(--line);padding:1.25rem 0 1.5rem}\
.cut{display:flex;flex-wrap:wrap;margin-top:.75rem}\
.label{padding:.55mm 1.3mm;border:1px dashed var(--soft);margin:0 -1px -1px 0;\
display:grid;grid-template-columns:minmax(0,1fr) auto;grid-auto-rows:min-content;align-content:center;column-gap:1mm;\
font-size:6.5pt;line-height:1.06;white-space:nowrap;overflow:hidden}\
.label b,.label code{font-size:7.5pt;font-weight:700}.label i{font-style:normal;text-align:right;align-self:end}\
.label span{grid-column:1/-1}\
.label.low{padding:.3mm 1mm}.label.low b,.label.low code{font-size:6.5pt}\
.cautions ul{list-style:none;columns:2 20rem;column-gap:2.5rem;margin:.5rem 0;font-size:.92rem}\
.cautions li{break-inside:avoid;margin-bottom:.4rem}\
.finding{margin:1.25rem 0 1.5rem;border-top:3px solid var(--ink);padding-top:.75rem}\
.finding h2,.about h2,.set h2,figcaption h2{font-size:.85rem;font-weight:400;color:var(--soft);margin-bottom:.2rem}\
.finding p{font-size:1.35rem;line-height:1.35;font-weight:600;max-width:44rem;margin-bottom:.25rem}\
.finding p~p{font-size:1.05rem;font-weight:400}\
.finding .item{padding-left:1rem;border-left:3px solid var(--line)}\
.about h2{margin-top:.75rem}.about h2:first-child{margin-top:0}\
.verdict .done{display:block}.verdict .done li{position:relative;padding-left:1.7rem;margin-bottom:.4rem}\
.verdict .done li::before{position:absolute;left:0;top:.2rem;margin:0}.verdict .about .done{margin-top:.2rem}\
.because{list-style:none}.because li{margin-bottom:.3rem}\
.verdict .pins p{margin-top:.5rem;text-align:center}\
.set{margin-top:1.5rem;border-top:1px solid var(--line);padding-top:1rem}.set table{margin:.5rem 0}.set .own{font-weight:650}\
.differing{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(100%,22rem),1fr));gap:.5rem 2rem;margin:1.5rem 0 1rem;\
border-top:1px solid var(--line);padding-top:1rem}\
.differing figcaption{grid-column:1/-1}.differing svg{width:100%;height:auto;max-width:32rem}\
@media screen and (max-width:44rem){\
.pair{grid-template-columns:minmax(0,1fr)}\
dl{display:block}dd{margin:0 0 .5rem}.bytes{font-size:.82em}\
.sheet thead{display:none}.sheet tr{display:grid;grid-template-columns:minmax(0,1fr) auto;gap:0 1rem;border-bottom:1px solid var(--line);padding:.5rem 0}\
.sheet td{border:0;padding:0}.sheet .socket,.sheet .part{grid-column:1}.sheet .sum{grid-column:2;grid-row:1/span 2;text-align:right}\
.sheet .file{grid-column:1/-1}.sheet td.box{grid-column:auto;text-align:left;margin-top:.25rem}.sheet .word{display:inline;margin-left:.4rem}\
.who .big{margin-left:0}}\n";
