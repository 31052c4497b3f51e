mod check;
mod fixtures;
mod made;
mod refused;
mod scene;
mod schema;
