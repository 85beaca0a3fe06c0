//! Several sheets at the same time, told in their order while the work goes on.
//!
//! What was done is given away as soon as all before it is, and nobody runs far ahead of the one that is waited for: so
//! memory holds the photos of the sheets at work and a few results, however many sheets there are.

use super::{say, stop};
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::collections::BTreeMap;
use std::io::IsTerminal;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Condvar, Mutex, mpsc};
use std::time::{Duration, Instant};

/// How many results each job may be ahead of the one that is waited for.
const AHEAD: usize = 16;
/// Without a terminal a line tells how far it is, so often.
const TOLD_EVERY: Duration = Duration::from_secs(30);

/// What is asked for: how many at a time, and whether anything is said meanwhile.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pace {
    pub jobs: Option<u16>,
    pub quiet: bool,
}

impl Pace {
    /// Jobs, and threads of each. With `jobs` each is one thread, so that it says how many cores a batch takes, and two
    /// jobs do twice the work of one; without, all cores are shared out.
    fn split(self, count: usize) -> (usize, usize) {
        let cores = rayon::current_num_threads();
        match self.jobs {
            Some(jobs) => (usize::from(jobs).min(count).max(1), 1),
            None => {
                let jobs = cores.min(count).max(1);
                (jobs, (cores / jobs).max(1))
            }
        }
    }
}

/// Does `one` for 0 .. `count`, and gives each result to `tell` in order; `None` where the work broke down. Each job has a
/// pool of threads of its own: one that steals work could start another sheet, with its photos, within one that waits.
///
/// After Ctrl-C nothing new is begun; what was begun is finished and told. Whether all was done.
pub(crate) fn in_order<T: Send>(
    count: usize,
    pace: Pace,
    one: impl Fn(usize) -> T + Sync,
    mut tell: impl FnMut(usize, Option<T>),
) -> bool {
    if count == 1 && pace.jobs.is_none() {
        // alone it has the whole machine, and the machine's own pool
        tell(0, work(&one, 0));
        return true;
    }
    let (jobs, threads) = pace.split(count);
    let bar = Progress::new(count, pace.quiet);
    let (next, told, moved) = (AtomicUsize::new(0), Mutex::new(0usize), Condvar::new());
    let (give, take) = mpsc::channel();
    std::thread::scope(|scope| {
        for _ in 0..jobs {
            let (give, next, told, moved, one) = (give.clone(), &next, &told, &moved, &one);
            scope.spawn(move || {
                let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().ok();
                loop {
                    if stop::asked() {
                        break;
                    }
                    let i = next.fetch_add(1, Ordering::Relaxed);
                    if i >= count {
                        break;
                    }
                    if let Ok(told) = told.lock() {
                        drop(moved.wait_while(told, |told| i > *told + AHEAD * jobs));
                    }
                    // a system that gives no more threads still has this one
                    let result = match &pool {
                        Some(pool) => pool.install(|| work(one, i)),
                        None => work(one, i),
                    };
                    if give.send((i, result)).is_err() {
                        break;
                    }
                }
            });
        }
        drop(give);
        let mut waiting = BTreeMap::new();
        let mut expected = 0;
        for (i, result) in take {
            bar.one_more();
            waiting.insert(i, result);
            while let Some(result) = waiting.remove(&expected) {
                bar.aside(|| tell(expected, result));
                expected += 1;
            }
            if let Ok(mut told) = told.lock() {
                *told = expected;
            }
            moved.notify_all();
        }
        bar.finish();
        expected == count
    })
}

/// The same, all results kept; those that were not begun are missing at the end.
pub(crate) fn all<T: Send>(count: usize, pace: Pace, one: impl Fn(usize) -> T + Sync) -> Vec<Option<T>> {
    let mut results = Vec::new();
    in_order(count, pace, one, |_, result| results.push(result));
    results
}

/// One piece of work. A fault of ours in one sheet, or of a decoder, does not take the others with it.
fn work<T>(one: &impl Fn(usize) -> T, i: usize) -> Option<T> {
    catch_unwind(AssertUnwindSafe(|| one(i))).ok()
}

/// How far it is: a bar on a terminal, else a line now and then.
struct Progress {
    bar: ProgressBar,
    lines: Option<Mutex<Instant>>,
    begun: Instant,
    count: usize,
}

impl Progress {
    fn new(count: usize, quiet: bool) -> Self {
        let terminal = std::io::stderr().is_terminal();
        let shown = !quiet && count > 1;
        let bar = if shown && terminal {
            ProgressBar::with_draw_target(Some(count as u64), ProgressDrawTarget::stderr())
        } else {
            ProgressBar::hidden()
        };
        bar.set_length(count as u64);
        if let Ok(style) = ProgressStyle::with_template("{bar:32} {pos} of {len} sheets, {eta} left") {
            bar.set_style(style);
        }
        let begun = Instant::now();
        Self { bar, lines: (shown && !terminal).then(|| Mutex::new(begun)), begun, count }
    }

    fn one_more(&self) {
        self.bar.inc(1);
        let Some(Ok(mut last)) = self.lines.as_ref().map(Mutex::lock) else { return };
        let done = self.bar.position() as usize;
        if last.elapsed() >= TOLD_EVERY && done < self.count {
            *last = Instant::now();
            let left = self.begun.elapsed().as_secs_f64() / done as f64 * (self.count - done) as f64;
            let left = indicatif::HumanDuration(Duration::from_secs_f64(left));
            say::line(&format!("{done} of {} sheets, {left} left", self.count));
        }
    }

    /// Something else is written to the terminal meanwhile.
    fn aside(&self, write: impl FnOnce()) {
        self.bar.suspend(write);
    }

    fn finish(&self) {
        self.bar.finish_and_clear();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn results_come_in_order_whatever_ends_first() {
        let pace = Pace { jobs: Some(3), quiet: true };
        let slow_first = |i: usize| {
            std::thread::sleep(Duration::from_millis(if i == 0 { 30 } else { 0 }));
            i * i
        };
        let mut told = Vec::new();
        assert!(in_order(200, pace, slow_first, |i, result| told.push((i, result))));
        assert_eq!(told, (0..200).map(|i| (i, Some(i * i))).collect::<Vec<_>>());
    }

    #[test]
    fn nobody_runs_far_ahead() {
        let pace = Pace { jobs: Some(2), quiet: true };
        let (begun, most) = (AtomicUsize::new(0), AtomicUsize::new(0));
        let one = |i: usize| {
            begun.fetch_add(1, Ordering::SeqCst);
            if i == 0 {
                std::thread::sleep(Duration::from_millis(50));
                most.store(begun.load(Ordering::SeqCst), Ordering::SeqCst);
            }
        };
        assert!(in_order(500, pace, one, |_, _| {}));
        assert!(most.into_inner() <= 2 * AHEAD + 2, "begun while the first was waited for");
    }

    #[test]
    fn work_that_breaks_down_takes_nothing_with_it() {
        let pace = Pace { jobs: Some(2), quiet: true };
        let results = all(5, pace, |i| if i == 3 { "none".parse::<usize>().unwrap() } else { i });
        assert_eq!(results, [Some(0), Some(1), Some(2), None, Some(4)]);
    }
}
