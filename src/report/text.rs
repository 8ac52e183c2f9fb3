//! Text tagged with what each piece of it *is*.
//!
//! The core says "this is a reading", "this is a caution"; only the command line turns a tone into
//! a colour, wraps to the window, or leaves both out. Nothing may be said by tone alone: the words
//! must carry the whole meaning, so that a screen reader or a pipe loses nothing.

/// What a piece of text is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Tone {
    /// Ordinary prose.
    Plain,
    /// A heading or a label that introduces something.
    Heading,
    /// What a display shows.
    Reading,
    /// How a reading was taken and other things of second rank.
    Muted,
    /// What to type next.
    Hint,
    /// A warning about people or property.
    Caution,
    /// A word that can be typed.
    Word,
    /// Lines that only make sense with every character in its column; never wrapped.
    Drawing,
}

/// A run of characters of one tone.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Span {
    /// What the run is.
    pub tone: Tone,
    /// The characters themselves, without line ends.
    pub text: String,
}

/// One logical line: it may take several rows in a narrow window.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Line(pub Vec<Span>);

/// Several logical lines.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Text(pub Vec<Line>);

impl Line {
    /// A line of one tone.
    pub fn new(tone: Tone, text: impl Into<String>) -> Line {
        Line(Vec::new()).and(tone, text)
    }

    /// The same line with one more run at its end.
    #[must_use]
    pub fn and(mut self, tone: Tone, text: impl Into<String>) -> Line {
        let text = text.into();
        if !text.is_empty() {
            self.0.push(Span { tone, text });
        }
        self
    }

    /// The characters without their tones.
    #[must_use]
    pub fn plain(&self) -> String {
        self.0.iter().map(|span| span.text.as_str()).collect()
    }

    /// Whether the line keeps its columns: at least one run is a drawing.
    #[must_use]
    pub fn is_drawing(&self) -> bool {
        self.0.iter().any(|span| span.tone == Tone::Drawing)
    }
}

impl Text {
    /// A text without lines.
    #[must_use]
    pub fn new() -> Text {
        Text::default()
    }

    /// Adds a finished line.
    pub fn push(&mut self, line: Line) {
        self.0.push(line);
    }

    /// Adds a line of one tone; line ends inside `text` begin new lines of the same tone.
    pub fn say(&mut self, tone: Tone, text: &str) {
        for part in text.split('\n') {
            self.0.push(Line::new(tone, part));
        }
    }

    /// Adds an empty line.
    pub fn blank(&mut self) {
        self.0.push(Line::default());
    }

    /// Adds the lines of another text.
    pub fn append(&mut self, mut other: Text) {
        self.0.append(&mut other.0);
    }

    /// The characters without their tones, each line ended by a line feed.
    #[must_use]
    pub fn plain(&self) -> String {
        let mut all = String::new();
        for line in &self.0 {
            all.push_str(&line.plain());
            all.push('\n');
        }
        all
    }
}
