//! Plain settings that the questions look at: shop record, build style, tolerances, drive, bench pieces.
