//! Works through a long list on as many threads as there are cores; results come in the list's order.

use std::collections::VecDeque;
use std::sync::mpsc::sync_channel;

/// Jobs that may wait for one thread; with their results they are all that is in memory at once.
const AHEAD: usize = 2;

/// Does each job on a thread that `worker` made its own work for, and hands over the results in order until `each`
/// says `false`. The jobs themselves are made, and the results taken, on the calling thread.
pub fn in_order<J: Send, R: Send, W: FnMut(J) -> R>(
    jobs: impl Iterator<Item = J>,
    worker: impl Fn() -> W + Sync,
    mut each: impl FnMut(R) -> bool,
) {
    let threads = std::thread::available_parallelism().map_or(1, |n| n.get().min(8));
    std::thread::scope(|scope| {
        let mut lanes = Vec::new();
        for _ in 0..threads {
            let (give, given) = sync_channel::<J>(AHEAD);
            let (tell, told) = sync_channel::<R>(AHEAD);
            let worker = &worker;
            scope.spawn(move || {
                let mut work = worker();
                for job in given {
                    // Nobody listens any more once `each` has said that it is enough.
                    if tell.send(work(job)).is_err() {
                        return;
                    }
                }
            });
            lanes.push((give, told));
        }
        let (mut jobs, mut next, mut waiting) = (jobs.fuse(), 0, VecDeque::new());
        loop {
            while waiting.len() < threads * AHEAD
                && let Some(job) = jobs.next()
            {
                if lanes[next].0.send(job).is_err() {
                    return;
                }
                waiting.push_back(next);
                next = (next + 1) % threads;
            }
            let Some(lane) = waiting.pop_front() else { return };
            // A thread that panicked is reported by the scope.
            let Ok(result) = lanes[lane].1.recv() else { return };
            if !each(result) {
                return;
            }
        }
    });
}
