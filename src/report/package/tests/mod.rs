mod check;
mod fixtures;
mod made;
mod printed;
mod refused;
mod scene;
mod schema;
