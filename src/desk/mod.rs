//! Pages that look across the stages: the week ahead, one event with what is next, search,
//! the calendar for other programs. May import every stage.

pub mod arrivals;
pub mod calendar;
pub mod deadlines;
pub mod history;
pub mod next_step;
pub mod outlook;
pub mod pages;
pub mod reminders;
pub mod standing;
pub mod store;
