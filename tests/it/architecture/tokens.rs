//! Rust source as plain tokens: names, `::`, numbers, single signs. Comments, texts, characters and
//! lifetimes are left out, so that the rules judge code alone.

/// A token and the line it stands on, from 1.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Token {
    pub text: String,
    pub line: usize,
}

/// Splits `source` into tokens. A text literal leaves the token `""`.
pub fn tokens(source: &str) -> Vec<Token> {
    let mut reader = Reader {
        chars: source.chars().collect(),
        at: 0,
        line: 1,
    };
    let mut found = Vec::new();
    while let Some(first) = reader.peek(0) {
        let line = reader.line;
        if let Some(text) = reader.token(first) {
            found.push(Token { text, line });
        }
    }
    found
}

struct Reader {
    chars: Vec<char>,
    at: usize,
    line: usize,
}

impl Reader {
    fn peek(&self, ahead: usize) -> Option<char> {
        self.chars.get(self.at + ahead).copied()
    }

    fn skip(&mut self, count: usize) {
        for _ in 0..count {
            if self.peek(0) == Some('\n') {
                self.line += 1;
            }
            self.at += 1;
        }
    }

    fn starts(&self, text: &str) -> bool {
        text.chars()
            .enumerate()
            .all(|(ahead, c)| self.peek(ahead) == Some(c))
    }

    /// Moves past the next token; `None` if it is one that does not count.
    fn token(&mut self, first: char) -> Option<String> {
        if first.is_whitespace() {
            self.skip(1);
            return None;
        }
        if self.starts("//") {
            while self.peek(0).is_some_and(|c| c != '\n') {
                self.skip(1);
            }
            return None;
        }
        if self.starts("/*") {
            self.block_comment();
            return None;
        }
        if first == '"' {
            self.text();
            return Some("\"\"".into());
        }
        if first == '\'' {
            self.character_or_lifetime();
            return None;
        }
        if first.is_ascii_digit() {
            return Some(self.number());
        }
        if first.is_alphabetic() || first == '_' {
            return self.name();
        }
        let text = if self.starts("::") {
            "::".to_owned()
        } else {
            first.to_string()
        };
        self.skip(text.chars().count());
        Some(text)
    }

    fn block_comment(&mut self) {
        let mut depth = 0;
        while self.peek(0).is_some() {
            if self.starts("/*") {
                depth += 1;
                self.skip(2);
            } else if self.starts("*/") {
                depth -= 1;
                self.skip(2);
                if depth == 0 {
                    return;
                }
            } else {
                self.skip(1);
            }
        }
    }

    /// From the opening quote mark to past the closing one.
    fn text(&mut self) {
        self.skip(1);
        while let Some(c) = self.peek(0) {
            self.skip(if c == '\\' { 2 } else { 1 });
            if c == '"' {
                return;
            }
        }
    }

    fn raw_text(&mut self, hashes: usize) {
        let close: String = std::iter::once('"')
            .chain(std::iter::repeat_n('#', hashes))
            .collect();
        self.skip(hashes + 1);
        while self.peek(0).is_some() && !self.starts(&close) {
            self.skip(1);
        }
        self.skip(hashes + 1);
    }

    fn character_or_lifetime(&mut self) {
        if self.peek(1) == Some('\\') {
            self.skip(3);
            while self.peek(0).is_some_and(|c| c != '\'') {
                self.skip(1);
            }
            self.skip(1);
        } else if self.peek(2) == Some('\'') {
            self.skip(3);
        } else {
            self.skip(1);
            while self
                .peek(0)
                .is_some_and(|c| c.is_alphanumeric() || c == '_')
            {
                self.skip(1);
            }
        }
    }

    fn number(&mut self) -> String {
        let mut text = String::new();
        while let Some(c) = self.peek(0) {
            let decimal = c == '.' && self.peek(1).is_some_and(|next| next.is_ascii_digit());
            if !(c.is_alphanumeric() || c == '_' || decimal) {
                break;
            }
            text.push(c);
            self.skip(1);
        }
        text
    }

    /// A name, or the literal that a prefix such as `r#` or `b` turned out to begin.
    fn name(&mut self) -> Option<String> {
        let mut text = String::new();
        while let Some(c) = self.peek(0).filter(|c| c.is_alphanumeric() || *c == '_') {
            text.push(c);
            self.skip(1);
        }
        let hashes = self.chars[self.at..]
            .iter()
            .take_while(|c| **c == '#')
            .count();
        let quoted = self.peek(hashes) == Some('"');
        match text.as_str() {
            "r" | "br" | "cr" if quoted => {
                self.raw_text(hashes);
                Some("\"\"".into())
            }
            "b" | "c" if self.peek(0) == Some('"') => {
                self.text();
                Some("\"\"".into())
            }
            "b" if self.peek(0) == Some('\'') => {
                self.character_or_lifetime();
                None
            }
            "r" if hashes == 1 => {
                self.skip(1);
                self.name()
            }
            _ => Some(text),
        }
    }
}
