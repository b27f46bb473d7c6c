//! Colours and strokes shared by all drawings: light, dark, print and greyscale.
//!
//! Nothing is told by colour alone; the hues are those of Okabe and Ito (2008), made to be told apart by the colour-blind.

/// Style shared by all drawings.
pub(crate) const SHARED: &str = "\
.drawing{--ink:#1b1f24;--paper:#fff;--faint:#6b7480;--pale:#c9d0d8;--takes:#0072b2;--gives:#d55e00;--suspect:#b3261e;\
--sound:#00795c;font-family:system-ui,'DejaVu Sans',sans-serif;max-width:100%;height:auto}\
.drawing text{fill:var(--ink);stroke:none}\
.drawing .faint{fill:var(--faint)}\
.drawing .strong{font-weight:600}\
@media (prefers-color-scheme:dark){.drawing{--ink:#e8ecf1;--paper:#15191e;--faint:#9aa5b1;--pale:#46505b;\
--takes:#56b4e9;--gives:#f0a04b;--suspect:#ff8a80;--sound:#4cc9a4}}\
@media print{.drawing{--ink:#000;--paper:#fff;--faint:#444;--pale:#aaa;--takes:#005a8c;--gives:#a84a00;\
--suspect:#8c1d18;--sound:#005a43}}";
