"""The Tab key in PowerShell, 5.1 and later: click has no completion of its own for it."""

import os

from click.shell_completion import CompletionItem, ShellComplete, add_completion_class

# a native completer that gives nothing leaves it to PowerShell, which offers files
_SOURCE = """\
Register-ArgumentCompleter -Native -CommandName %(prog_name)s -ScriptBlock {
    param($word, $line, $cursor)
    $before = $line.CommandElements | Where-Object { $_.Extent.EndOffset -le $cursor }
    $env:COMP_WORDS = ($before | ForEach-Object { "$_".Trim("'`"") }) -join "`n"
    $env:COMP_WORD = $word.Trim("'`"")
    $env:%(complete_var)s = "powershell_complete"
    try {
        %(prog_name)s | ForEach-Object {
            $value, $help = $_ -split "`t", 2
            $typed = if ($value -match "[\\s;&|(){}$]") { "'" + $value.Replace("'", "''") + "'" } else { $value }
            [System.Management.Automation.CompletionResult]::new($typed, $value, "ParameterValue", $help)
        }
    } finally {
        Remove-Item Env:COMP_WORDS, Env:COMP_WORD, Env:%(complete_var)s
    }
}
"""


@add_completion_class
class PowerShell(ShellComplete):
    """Words come one a line in COMP_WORDS, that in which the cursor stands in COMP_WORD."""

    name = "powershell"
    source_template = _SOURCE

    def get_completion_args(self) -> tuple[list[str], str]:
        _, *words = os.environ["COMP_WORDS"].split("\n")
        incomplete = os.environ.get("COMP_WORD", "")
        return words[:-1] if incomplete else words, incomplete

    def format_completion(self, item: CompletionItem) -> str:
        return f"{item.value}\t{item.help or item.value}"

    def complete(self) -> str:
        items = self.get_completions(*self.get_completion_args())
        return "\n".join(self.format_completion(item) for item in items if item.type == "plain")
