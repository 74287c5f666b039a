//! Arguments in, exit code out; nothing else.

fn main() -> std::process::ExitCode {
    romloom::cli::main(std::env::args_os())
}
