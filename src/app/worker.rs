//! Runs the [`Measurer`] on a thread of its own: the newest sheet wins, and the window never waits.

use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Condvar, Mutex, PoisonError};
use std::thread::JoinHandle;

use super::measurer::{Answer, Measurer, Request};

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
        let desk = Arc::new(Desk::default());
        let (answer, answers) = channel();
        let thread = std::thread::Builder::new().name("measurer".into()).spawn({
            let desk = desk.clone();
            move || work(&desk, &answer, &wake)
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

fn work(desk: &Desk, answer: &Sender<Answer>, wake: &dyn Fn()) {
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
        let overtaken = || desk.next.lock().unwrap_or_else(PoisonError::into_inner).request.is_some();
        measurer.answer(&request, &overtaken, &mut |a| {
            // a window that is gone needs no answer
            let _ = answer.send(a);
            wake();
        });
    }
}
