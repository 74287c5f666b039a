//! Arguments in, exit code out: which pipeline or plain command the words ask for.

use std::ffi::OsString;
use std::path::Path;
use std::process::ExitCode;
use std::slice;

use anyhow::{Result, anyhow, bail};

use super::pipeline::{
    self, ASK, Around, COMMANDS, Grammar, Plan, PlannedStep, Refusal, Request, RunOptions, Wording,
};

/// Runs the command with these arguments, the program's own name first, and gives the exit code.
///
/// 0 done, 1 a check said no, 2 trouble.
pub fn main(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    let args: Vec<OsString> = args.into_iter().skip(1).collect();
    match dispatch(&args) {
        Ok(code) => code,
        Err(error) => match error.downcast_ref::<Refusal>() {
            // Help and version are not errors.
            Some(Refusal::Asked(help)) => help.print(),
            _ => {
                pipeline::complain(&error);
                ExitCode::from(2)
            }
        },
    }
}

fn dispatch(args: &[OsString]) -> Result<ExitCode> {
    let mut grammar = pipeline::grammar_of(args);
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
    let steps = grammar.gathered(steps);
    let wordings = Wording::typed(&steps);
    let parsed = parse(&mut grammar, &steps);
    // Help is printed whatever else is wrong.
    if !matches!(parsed, Err((Refusal::Asked(_), _))) {
        let around = Around {
            folder: Path::new(""),
            first: true,
            recipe: false,
        };
        if let Some(answer) = grammar.answer(&steps, around, parsed.is_err()) {
            return Err(pipeline::shown_answer(&answer, &wordings));
        }
    }
    let (options, request, later) = parsed.map_err(|(refusal, at)| refusal.shown(&wordings[at]))?;
    match request {
        Request::Step(step, at) => {
            let mut wordings = wordings.into_iter();
            let mut plan = Plan::default();
            let first = wordings.next().map(|wording| wording.behind(at));
            plan.steps.extend(first.map(|wording| (step, wording)));
            plan.steps.extend(later.into_iter().zip(wordings));
            pipeline::run(vec![plan], options, Path::new(""))
        }
        Request::Command(name, _) if steps.len() > 1 => {
            bail!("`{name}` is a command of its own, and no step comes after it")
        }
        Request::Command(name, matches) => {
            let command = COMMANDS.iter().find(|c| c.name == name);
            let command = command.ok_or_else(|| anyhow!("there is no command `{name}`"))?;
            command.run(&mut grammar, &matches, options)
        }
    }
}

/// All steps of a line, the first of them with the options of the run or as a command; or which of them is refused.
fn parse(
    grammar: &mut Grammar,
    steps: &[Vec<OsString>],
) -> Result<(RunOptions, Request, Vec<PlannedStep>), (Refusal, usize)> {
    let first = steps.first().map_or(&[][..], Vec::as_slice);
    let (options, request) = grammar.first(first).map_err(|refusal| (refusal, 0))?;
    if matches!(request, Request::Command(..)) {
        return Ok((options, request, Vec::new()));
    }
    let later = steps.iter().enumerate().skip(1);
    let later = later.map(|(i, words)| grammar.step(words).map_err(|refusal| (refusal, i)));
    Ok((options, request, later.collect::<Result<_, _>>()?))
}
