mod fuzz;
mod sheet;
