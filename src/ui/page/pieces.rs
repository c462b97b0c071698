//! Drawing much in small pieces, each in a task of its own, so that a tap has its turn between. What is asked for first is drawn to its end
//! first; what a piece asks for comes right after it, so that a page grows from its top.

use crate::browser::next_piece;
use std::cell::RefCell;
use std::collections::VecDeque;

/// Draws one more piece; true while more is to come.
type Job = Box<dyn FnMut() -> bool>;

#[derive(Default)]
struct Queue {
    waiting: VecDeque<Job>,
    /// What the job that is running asks for.
    asked: Vec<Job>,
    busy: bool,
}

thread_local!(static QUEUE: RefCell<Queue> = RefCell::new(Queue::default()));

/// Puts a job into the queue.
pub(super) fn draw_later(job: impl FnMut() -> bool + 'static) {
    let idle = QUEUE.with_borrow_mut(|queue| {
        if queue.busy {
            queue.asked.push(Box::new(job));
        } else {
            queue.waiting.push_back(Box::new(job));
        }
        !std::mem::replace(&mut queue.busy, true)
    });
    if idle {
        leptos::task::spawn_local(draw_all());
    }
}

async fn draw_all() {
    loop {
        next_piece().await;
        // What was asked for since the last piece: by that piece, in its order.
        let job = QUEUE.with_borrow_mut(|queue| {
            let asked = std::mem::take(&mut queue.asked);
            asked.into_iter().rev().for_each(|job| queue.waiting.push_front(job));
            let job = queue.waiting.pop_front();
            queue.busy = job.is_some();
            job
        });
        let Some(mut job) = job else { return };
        if job() {
            QUEUE.with_borrow_mut(|queue| {
                // Its own further pieces come before what it asked for.
                queue.waiting.push_front(job);
                let asked = std::mem::take(&mut queue.asked);
                asked.into_iter().rev().for_each(|job| queue.waiting.insert(1, job));
            });
        }
    }
}
