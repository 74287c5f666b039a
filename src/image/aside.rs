//! Work on a second core, begun only where the system has a thread, and memory for it.

use std::sync::mpsc::sync_channel;
use std::thread::{self, Scope, ScopedJoinHandle};
use std::time::Duration;

use super::ask_memory;

/// What another thread takes of the address space: the allocator of glibc reserves 64 MiB for each.
const THREAD: u64 = 68 << 20;

/// Whether there is a second core, so that work on two threads can be done sooner.
pub(crate) fn has_second_core() -> bool {
    // Tests are of what two threads do, whatever machine they run on.
    cfg!(test) || thread::available_parallelism().is_ok_and(|cores| cores.get() > 1)
}

/// Begins work on another thread, which may need so many bytes of memory and a few more. `None` where the system has no
/// thread, or not that memory; then nothing of it is done.
pub(crate) fn begin_aside<'scope, T: Send + 'scope>(
    scope: &'scope Scope<'scope, '_>,
    bytes: u64,
    work: impl FnOnce() -> T + Send + 'scope,
) -> Option<ScopedJoinHandle<'scope, T>> {
    ask_memory(THREAD.saturating_add(bytes)).ok()?;
    let (tell, is_here) = sync_channel(1);
    let begin = move || {
        // What a thread needs for waiting is taken when it waits for the first time. Here both wait once, if neither is very late,
        // before there is anything to lose: where that memory is not there later, the process would end.
        let (_open, nothing) = sync_channel::<()>(1);
        let _ = nothing.recv_timeout(Duration::from_micros(100));
        let _ = tell.send(());
        work()
    };
    let thread = thread::Builder::new().stack_size(256 << 10);
    let thread = thread.spawn_scoped(scope, begin).ok()?;
    is_here.recv().ok()?;
    Some(thread)
}
