//! Outside checks and browser tests of the built page.
