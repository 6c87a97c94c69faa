//! Magnets, friction, hazard, contrast and lettering against published figures and other people's libraries.

mod magnets;
mod reading;
mod turning;
