//! Workbooks written and read back by something that did not write them.
//!
//! - `scene`: an invented job and its findings, laid by hand
//! - `job`: the workbook of a job
//! - `copies`: authors' sheets, annotated, and what people typed
//! - `papers`: the electrician's brief and the return letter
//! - `in_place`: an author's own workbook, marked
//! - `row_remarks`: what people type beside rows
//! - `batch`: the workbook, the CSV files, the frames and the summary

mod batch;
mod copies;
mod in_place;
mod job;
mod papers;
mod row_remarks;
mod scene;
