//! placeholder
/// placeholder
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PriorPackError {
    /// Not TOML of the agreed shape.
    #[error("{0}")]
    Text(String),
}
