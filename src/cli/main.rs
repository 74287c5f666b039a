//! Arguments in, exit code out: which pipeline or plain command the words ask for.

use std::ffi::OsString;
use std::path::Path;
use std::process::ExitCode;
use std::slice;

use anyhow::{Result, anyhow, bail};

use super::pipeline::{self, ASK, COMMANDS, Plan, Refusal, Request, Wording};

/// Runs the command with these arguments, the program's own name first, and gives the exit code.
///
/// 0 done, 1 a check said no, 2 trouble.
pub fn main(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    let args: Vec<OsString> = args.into_iter().skip(1).collect();
    match dispatch(&args) {
        Ok(code) => code,
        Err(error) => match error.downcast_ref::<Refusal>() {
            // Help and version are no errors.
            Some(Refusal::Asked(help)) => help.print(),
            _ => {
                pipeline::complain(&error);
                ExitCode::from(2)
            }
        },
    }
}

fn dispatch(args: &[OsString]) -> Result<ExitCode> {
    let mut grammar = pipeline::full_grammar();
    match args.split_first() {
        Some((ask, words)) if ask == ASK => return pipeline::offer(grammar, words),
        _ => {}
    }
    let steps = pipeline::segments(args).map_err(|slip| {
        let line = Wording::typed(slice::from_ref(&args.to_vec()));
        line.first().map_or_else(
            || anyhow!("{slip}"),
            |line| pipeline::shown_slip(&slip, line),
        )
    })?;
    let mut written = steps.iter().zip(Wording::typed(&steps));
    let Some((words, wording)) = written.next() else {
        bail!("a step is missing: see `romloom steps`");
    };
    let (options, request) = grammar.first(words).map_err(|e| e.shown(&wording))?;
    match request {
        Request::Step(step, at) => {
            let mut plan = Plan::default();
            plan.steps.push((step, wording.behind(at)));
            for (words, wording) in written {
                let step = grammar.step(words).map_err(|e| e.shown(&wording))?;
                plan.steps.push((step, wording));
            }
            pipeline::run(vec![plan], options, Path::new(""))
        }
        Request::Command(name, _) if steps.len() > 1 => {
            bail!("`{name}` is a command of its own and takes no steps behind a +")
        }
        Request::Command(name, matches) => {
            let command = COMMANDS.iter().find(|c| c.name == name);
            let command = command.ok_or_else(|| anyhow!("there is no command `{name}`"))?;
            command.run(&mut grammar, &matches, options)
        }
    }
}
