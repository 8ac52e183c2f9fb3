//! What is wrong in a data file, where, and what to do about it.

use std::fmt;
use std::ops::Range;

use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};

/// One thing that is wrong in a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Diagnostic {
    /// Name of the file as it was given.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// Byte range in the text.
    pub span: Range<usize>,
    /// What is wrong.
    pub message: String,
    /// What to write instead, if that is known.
    pub hint: Option<String>,
}

/// The one-line form `file:line:column: message; hint`.
impl fmt::Display for Diagnostic {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}:{}:{}: {}",
            self.file, self.line, self.column, self.message
        )?;
        match &self.hint {
            Some(hint) => write!(f, "; {hint}"),
            None => Ok(()),
        }
    }
}

impl std::error::Error for Diagnostic {}

impl Diagnostic {
    /// The form with the source line and a mark under the place; `text` is the text of the file.
    /// The answer holds no colour.
    #[must_use]
    pub fn render(&self, text: &str) -> String {
        let span = clamp_to_text(&self.span, text);
        let mut group = Level::ERROR.primary_title(self.message.as_str()).element(
            Snippet::source(text)
                .path(self.file.as_str())
                .annotation(AnnotationKind::Primary.span(span)),
        );
        if let Some(hint) = &self.hint {
            group = group.element(Level::HELP.message(hint.as_str()));
        }
        Renderer::plain().render(&[group])
    }
}

/// A file with its name, able to tell lines and columns.
#[derive(Clone, Copy, Debug)]
pub struct Source<'s> {
    /// Name of the file, as shown to the user.
    pub file: &'s str,
    /// The whole text.
    pub text: &'s str,
}

impl Source<'_> {
    /// A diagnostic at a byte range of this file.
    #[must_use]
    pub fn diagnostic(
        self,
        span: Range<usize>,
        message: String,
        hint: Option<String>,
    ) -> Diagnostic {
        let span = clamp_to_text(&span, self.text);
        let before = &self.text[..span.start];
        let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
        Diagnostic {
            file: self.file.to_owned(),
            line: before.matches('\n').count() + 1,
            column: before[line_start..].chars().count() + 1,
            span,
            message,
            hint,
        }
    }
}

/// A range that lies in the text and on character borders, whatever the parser reported.
fn clamp_to_text(span: &Range<usize>, text: &str) -> Range<usize> {
    let border = |offset: usize| {
        let mut offset = offset.min(text.len());
        while !text.is_char_boundary(offset) {
            offset -= 1;
        }
        offset
    };
    let start = border(span.start);
    start..border(span.end).max(start)
}

/// "did you mean ..." for a word that is not among `known`, if one of them is near.
#[must_use]
pub fn did_you_mean<'k>(word: &str, known: impl IntoIterator<Item = &'k str>) -> Option<String> {
    nearest(word, known).map(|near| format!("did you mean `{near}`?"))
}

/// The known word nearest to `word`, if any is near enough to be worth naming.
#[must_use]
pub fn nearest<'k>(word: &str, known: impl IntoIterator<Item = &'k str>) -> Option<&'k str> {
    /// Below this Jaro-Winkler likeness a suggestion confuses more than it helps.
    const LIKE_ENOUGH: f64 = 0.75;
    let folded = word.to_lowercase();
    let mut best: Option<(f64, &str)> = None;
    for candidate in known {
        let likeness = strsim::jaro_winkler(&folded, &candidate.to_lowercase());
        if likeness >= LIKE_ENOUGH && best.is_none_or(|(most, _)| likeness > most) {
            best = Some((likeness, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}
