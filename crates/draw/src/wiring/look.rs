//! The style of wiring drawings; every colour of insulation lies at a middle lightness, and a rim in the colour of ink
//! makes the light ones visible on white and the dark ones on black.

/// Style of these drawings.
pub(crate) const STYLE: &str = "\
.drawing .wiring{fill:none;stroke-linejoin:round}\
.drawing .wiring text{stroke:none}\
.drawing .wiring-paper{fill:var(--paper);stroke:none}\
.drawing .wiring .lead{stroke:var(--ink);fill:none}\
.drawing .wiring .stroke{stroke:var(--ink);fill:none;stroke-width:1.6}\
.drawing .wiring .box{stroke:var(--ink);fill:var(--paper);stroke-width:1.6}\
.drawing .wiring .case{stroke:var(--pale);fill:none;stroke-width:1}\
.drawing .wiring .ring{stroke:var(--ink);fill:none;stroke-width:1.6}\
.drawing .wiring .block{fill:var(--ink);stroke:none}\
.drawing .wiring .dot{fill:var(--ink);stroke:none}\
.drawing .wiring .gap{fill:var(--paper);stroke:none}\
.drawing .wiring .cross{stroke:var(--suspect);fill:none}\
.drawing .wiring .pale{stroke:var(--pale);fill:none}\
.drawing .wiring .apart{stroke:var(--faint);fill:none;stroke-dasharray:2 5}\
.drawing .wiring .linkage{stroke:var(--faint);fill:none;stroke-width:1;stroke-dasharray:4 3}\
.drawing .wiring .ink{stroke:var(--ink);fill:var(--paper);stroke-width:1.8}\
.drawing .wiring .hit{fill:transparent;stroke:none}\
.drawing .wiring .terminal:focus{outline:none}\
.drawing .wiring .terminal:focus .ink,.drawing .wiring .terminal:hover .ink{stroke:var(--takes);stroke-width:4}\
.drawing .wiring .terminal[role]{cursor:pointer}\
.drawing .wiring .arrow{fill:var(--ink);stroke:var(--paper);stroke-width:1.5}\
.drawing .wiring .takes{fill:var(--takes);stroke:none}\
.drawing .wiring .gives{fill:var(--paper);stroke:var(--gives);stroke-width:1.8}\
.drawing .wiring .halo{stroke:var(--suspect);fill:none;stroke-opacity:.4}\
.drawing .wiring .outline{stroke:var(--suspect);fill:none;stroke-width:3}\
.drawing .wiring .tag{fill:var(--suspect);font-weight:600}\
.drawing .wiring .label{fill:var(--faint)}\
.drawing .wiring .rim{stroke:var(--faint);fill:none}\
.drawing .wiring .strand{stroke:var(--faint);fill:none}\
.drawing .wiring .second{stroke-dasharray:7 7}\
.drawing .wiring .idle .rim{stroke:var(--pale)}\
.drawing .wiring .idle .strand{stroke:var(--pale)}\
.drawing .wiring .jumper .strand{stroke:var(--ink);stroke-dasharray:9 4}\
.drawing .wiring .black{stroke:#1c1c1c}\
.drawing .wiring .brown{stroke:#8f5a30}\
.drawing .wiring .red{stroke:#d5302f}\
.drawing .wiring .orange{stroke:#ee8417}\
.drawing .wiring .yellow{stroke:#f2d21b}\
.drawing .wiring .green{stroke:#219a48}\
.drawing .wiring .blue{stroke:#2a72d8}\
.drawing .wiring .violet{stroke:#8f49b8}\
.drawing .wiring .grey{stroke:#8b929b}\
.drawing .wiring .white{stroke:#fff}\
.drawing .wiring .pink{stroke:#f19bb8}\
.drawing .wiring .gold{stroke:#c9a227}\
.drawing .wiring .turquoise{stroke:#2bb8b0}\
.drawing .wiring .silver{stroke:#c3c8ce}";
