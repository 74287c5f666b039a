# romloom for PowerShell: the command itself knows what may stand where.
Register-ArgumentCompleter -Native -CommandName romloom -ScriptBlock {
    param($wordToComplete, $commandAst, $cursorPosition)
    $words = @($commandAst.CommandElements | Select-Object -Skip 1 |
        Where-Object { $_.Extent.EndOffset -lt $cursorPosition } |
        ForEach-Object { $_.Extent.Text.Trim('"', "'") })
    # An empty word would be dropped on its way, so it goes in quotes.
    $words += if ($wordToComplete -eq '') { '""' } else { "$wordToComplete".Trim('"', "'") }
    & romloom --candidates @words | ForEach-Object {
        $word, $about = $_ -split "`t", 2
        if (-not $about) { $about = $word }
        $typed = if ($word -match '[^\w./:=+@%\\-]') { "'" + ($word -replace "'", "''") + "'" } else { $word }
        [System.Management.Automation.CompletionResult]::new($typed, $word, 'ParameterValue', $about)
    }
}
