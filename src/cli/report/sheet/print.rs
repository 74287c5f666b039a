//! Rules for paper: A4 and Letter, in small letters, nothing cut by the end of a page.

/// They are after the page's own.
pub(super) const PRINT: &str = "\
@media print{\
html{background:none;font-size:8.8pt;print-color-adjust:exact;-webkit-print-color-adjust:exact}\
body{max-width:none;padding:0;line-height:1.36}\
.chip,.strip,.cautions,.picture,.finding,.set,.warn,.differing,.verdict .pair{break-inside:avoid}\
.sheet tr,.decide li{break-inside:avoid}.head,.decide,h2,h3{break-after:avoid}\
h1{font-size:19pt}\
.decide{margin:3mm 0 4mm;font-size:10pt;max-width:none}.decide li{margin-bottom:.8mm}\
.sheet .socket{font-size:11pt}.sheet .part{font-size:10pt}.sheet .first{font-size:13pt}.sheet.one .first{font-size:22pt}\
td,th{padding-top:1mm;padding-bottom:1mm}\
.pair{grid-template-columns:50mm minmax(0,1fr);gap:2mm 5mm}\
.dip{width:50mm;height:auto}\
dl{grid-template-columns:17mm minmax(0,1fr);gap:.5mm 2mm}\
.who h2,.who .part{font-size:15pt}.who .big code{font-size:17pt}.who{margin-bottom:1.5mm}\
.bytes,.hash{font-size:7.2pt}.notes{font-size:7.6pt;line-height:1.3;margin-top:1.2mm}\
.done{margin-top:1.8mm;gap:1mm 4mm}.tick,.done li::before{width:3.6mm;height:3.6mm}\
.lines{margin-top:2.2mm;gap:2mm 4mm;font-size:7.6pt}.lines p{flex:1 1 24mm}.lines p:nth-child(n+3){flex:2 1 50mm}\
.chip{padding:2mm 0 2.5mm;margin-top:2.5mm;border-top-width:.6mm}.chip.erased{padding:1mm 0;margin-top:1mm}\
.alone .chip{padding:0;margin-top:2mm}\
.banks{margin-top:2mm;columns:2;font-size:7.8pt;column-gap:6mm}.banks.many{columns:3}.banks td,.banks th{padding:.3mm 3mm .3mm 0}\
.strip,.cautions{padding:2.5mm 0 2mm}.cut{margin-top:2mm}\
.cautions ul{font-size:7.8pt;line-height:1.3;columns:2;column-gap:6mm;margin:1mm 0}.cautions li{margin-bottom:.8mm}.small{font-size:7.6pt}\
h2{font-size:10pt}.finding h2,.about h2,.set h2,figcaption h2{font-size:8pt}\
.finding{margin:3mm 0 4mm;padding-top:2mm}.finding p{font-size:13pt}.finding p~p{font-size:10pt}\
.verdict{font-size:9.5pt}.verdict .done li::before{top:.4mm}\
.differing{grid-template-columns:1fr 1fr;gap:1mm 6mm;margin:4mm 0 2mm;padding-top:2mm}\
.alone .last{display:grid;grid-template-columns:minmax(0,1fr) 50mm;gap:0 6mm;border-top:.2mm solid var(--line)}\
.alone .strip,.alone .cautions{border-top:0}.alone .cautions ul{columns:1}.alone .decide{margin:2mm 0 3mm;font-size:9.5pt}\
.alone .picture{margin:2.5mm 0 1mm}.alone .map{zoom:.8}.alone .cautions,.alone .strip{padding:1.5mm 0 0}\
.alone .cautions ul,.alone .strip p,.alone .cautions p{font-size:7.2pt;line-height:1.25}.alone .cautions li{margin-bottom:.5mm}\
.alone .pair{grid-template-columns:46mm minmax(0,1fr)}.alone .dip{width:46mm}.alone h1{font-size:16pt}.alone h1.long{font-size:12pt}\
.picture{margin:4mm 0 4mm}}\n";
