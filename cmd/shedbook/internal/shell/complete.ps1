# Completes the words of shedbook in PowerShell. Made by: shedbook completion powershell
Register-ArgumentCompleter -Native -CommandName shedbook, shedbook.exe -ScriptBlock {
    param($word, $line, $at)
    $program = $line.CommandElements[0].Extent.Text
    $before = @($line.CommandElements | Select-Object -Skip 1 | Where-Object { $_.Extent.EndOffset -lt $at } | ForEach-Object {
        if ($_ -is [System.Management.Automation.Language.StringConstantExpressionAst]) { $_.Value } else { $_.Extent.Text }
    })
    $begun = "$word".TrimStart("'", '"')
    & $program __complete @before "=$begun" 2>$null | ForEach-Object {
        $text, $what = $_ -split "`t", 2
        if ($text -eq ':files') {
            [System.Management.Automation.CompletionCompleters]::CompleteFilename($begun)
        } elseif ($text -eq ':folders') {
            [System.Management.Automation.CompletionCompleters]::CompleteFilename($begun) | Where-Object { $_.ResultType -eq 'ProviderContainer' }
        } else {
            $typed = $text
            if ($text -match '[^A-Za-z0-9_./=:%+-]') { $typed = "'" + $text.Replace("'", "''") + "'" }
            if (-not $what) { $what = $text }
            [System.Management.Automation.CompletionResult]::new($typed, $text, 'ParameterValue', $what)
        }
    }
}
