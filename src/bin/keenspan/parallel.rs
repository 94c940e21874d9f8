//! Independent pieces of work on all cores, their answers in the order of the pieces.

use std::num::NonZero;
use std::thread;

/// `work` done on every item. The answer does not depend on the number of cores.
pub fn map<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let cores = thread::available_parallelism()
        .map_or(1, NonZero::get)
        .min(items.len().max(1));
    let work = &work;
    // Core k takes items k, k + cores, ...: neighbours often cost alike.
    let mut by_core: Vec<std::vec::IntoIter<R>> = thread::scope(|scope| {
        let running: Vec<_> = (0..cores)
            .map(|core| {
                scope.spawn(move || {
                    items
                        .iter()
                        .skip(core)
                        .step_by(cores)
                        .map(work)
                        .collect::<Vec<R>>()
                })
            })
            .collect();
        running
            .into_iter()
            .filter_map(|thread| thread.join().ok())
            .map(Vec::into_iter)
            .collect()
    });
    (0..items.len())
        .filter_map(|item| by_core.get_mut(item % cores)?.next())
        .collect()
}
