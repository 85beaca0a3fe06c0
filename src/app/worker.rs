//! Runs the [`Measurer`] on a thread of its own: the newest sheet wins, and the window never waits.

use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Condvar, Mutex, PoisonError};
use std::thread::JoinHandle;
use std::time::Duration;

use super::measurer::{Answer, Measurer, Request};

/// How long a sheet must lie as it is before its stream is looked for anew: longer than from one step of a drag, or one
/// letter, to the next, so that each of them is answered at once with the stream as it was.
const STILL: Duration = Duration::from_millis(80);

/// The thread, as the window sees it.
pub struct Worker {
    desk: Arc<Desk>,
    answers: Receiver<Answer>,
    thread: Option<JoinHandle<()>>,
}

/// Where the next sheet lies until it is taken up.
#[derive(Default)]
struct Desk {
    next: Mutex<Next>,
    filled: Condvar,
}

#[derive(Default)]
struct Next {
    request: Option<Request>,
    closed: bool,
}

impl Worker {
    /// Starts it; `wake` is called after every answer.
    pub fn start(wake: impl Fn() + Send + 'static) -> Self {
        Self::waiting(STILL, wake)
    }

    fn waiting(still: Duration, wake: impl Fn() + Send + 'static) -> Self {
        let desk = Arc::new(Desk::default());
        let (answer, answers) = channel();
        let thread = std::thread::Builder::new().name("measurer".into()).spawn({
            let desk = desk.clone();
            move || work(&desk, still, &answer, &wake)
        });
        Self { desk, answers, thread: thread.ok() }
    }

    /// Puts a sheet on the desk, in place of one that still waits there.
    pub fn ask(&self, request: Request) {
        self.desk.next.lock().unwrap_or_else(PoisonError::into_inner).request = Some(request);
        self.desk.filled.notify_one();
    }

    /// What was answered since the last time.
    pub fn heard(&self) -> impl Iterator<Item = Answer> + '_ {
        self.answers.try_iter()
    }
}

impl Drop for Worker {
    fn drop(&mut self) {
        self.desk.next.lock().unwrap_or_else(PoisonError::into_inner).closed = true;
        self.desk.filled.notify_one();
        if let Some(thread) = self.thread.take() {
            // it ends after the trace at hand; a panic there has been told already
            let _ = thread.join();
        }
    }
}

fn work(desk: &Desk, still: Duration, answer: &Sender<Answer>, wake: &dyn Fn()) {
    let mut measurer = Measurer::default();
    loop {
        let request = {
            let next = desk.next.lock().unwrap_or_else(PoisonError::into_inner);
            let mut next = desk
                .filled
                .wait_while(next, |n| n.request.is_none() && !n.closed)
                .unwrap_or_else(PoisonError::into_inner);
            if next.closed {
                return;
            }
            next.request.take()
        };
        let Some(request) = request else { continue };
        let overtaken = || {
            let next = desk.next.lock().unwrap_or_else(PoisonError::into_inner);
            let waited = desk.filled.wait_timeout_while(next, still, |n| n.request.is_none() && !n.closed);
            let (next, _) = waited.unwrap_or_else(PoisonError::into_inner);
            next.request.is_some() || next.closed
        };
        measurer.answer(&request, &overtaken, &mut |a| {
            // a window that is gone needs no answer
            let _ = answer.send(a);
            wake();
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::command::Command;
    use crate::app::document::Document;
    use crate::app::state::State;
    use crate::point::PixelPoint;
    use std::path::Path;
    use std::time::Instant;

    fn request(state: &State) -> Request {
        let d = state.document.as_ref().unwrap();
        Request { revision: d.revision(), version: d.now().clone(), name: d.name(), folder: d.folder().to_owned() }
    }

    /// Waits for answers until one of the sheet as it is now is whole.
    fn settle(worker: &Worker, woken: &Receiver<()>, state: &mut State) -> Vec<(u64, bool)> {
        let mut measured = Vec::new();
        let end = Instant::now() + Duration::from_secs(60);
        while state.live.busy || !state.is_current() {
            woken.recv_timeout(end.saturating_duration_since(Instant::now())).expect("an answer within a minute");
            for answer in worker.heard() {
                if let Answer::Measured { revision, passing, .. } = &answer {
                    measured.push((*revision, *passing));
                }
                state.hear(answer);
            }
        }
        measured
    }

    #[test]
    fn while_a_mark_is_dragged_every_step_is_answered_and_the_stream_is_looked_for_once() {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/old-print-run11.toml");
        let mut state = State::default();
        state.show(Document::open(&path, &std::fs::read_to_string(&path).unwrap()));
        let (wake, woken) = channel();
        // longer than a busy machine may hold this thread between two steps
        let worker = Worker::waiting(Duration::from_secs(2), move || {
            // a test that failed needs no waking
            let _ = wake.send(());
        });
        state.live.busy = true;
        worker.ask(request(&state));
        assert_eq!(settle(&worker, &woken, &mut state).len(), 1);

        let mark = state.marks()[0].clone();
        let mut answered = Vec::new();
        const STEPS: u32 = 12;
        for i in 1..=STEPS {
            let to = PixelPoint::new(mark.at.x + f64::from(i), mark.at.y);
            state.apply(Command::Move { key: mark.key.clone(), to });
            worker.ask(request(&state));
            // a slow hand: 30 steps a second
            std::thread::sleep(Duration::from_millis(33));
            for answer in worker.heard() {
                if let Answer::Measured { revision, passing, .. } = &answer {
                    answered.push((*revision, *passing));
                }
                state.hear(answer);
            }
        }
        state.live.busy = true;
        answered.extend(settle(&worker, &woken, &mut state));
        let whole: Vec<_> = answered.iter().filter(|(_, passing)| !passing).collect();
        assert_eq!(whole.len(), 1, "the stream is looked for anew once the mark lies still: {answered:?}");
        assert_eq!(whole[0].0, state.document.as_ref().unwrap().revision());
        assert!(answered.len() > 2, "answers come while it moves: {answered:?}");
    }
}
