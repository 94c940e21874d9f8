//! Where random numbers come from.

use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

/// A generator whose stream depends on `seed` alone, on every machine and in every version of the
/// generator's crate (ChaCha with eight rounds).
pub fn seeded(seed: u64) -> ChaCha8Rng {
    ChaCha8Rng::seed_from_u64(seed)
}

/// One of the many streams that a seed gives, so that pieces of work draw the same numbers whichever
/// thread does them.
pub fn seeded_stream(seed: u64, stream: u64) -> ChaCha8Rng {
    let mut random = seeded(seed);
    random.set_stream(stream);
    random
}
