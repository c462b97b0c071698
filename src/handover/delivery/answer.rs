//! What an answer of the server means, and what follows from it.
//!
//! Status codes: RFC 9110 15 (200, 201, 204, 401, 403, 404, 405, 409, 412, 413, 5xx), RFC 4918 11 (423, 507), RFC 6585 (429, 511).
//! RFC 9110 9.3.4: a server that made a file says 201; 13.1.2: with `If-None-Match: *` one that has it already says 412.

/// What is asked of the server.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// To make the file.
    Put,
    /// To give it back, after it answered this.
    ReadBack {
        /// The status of the upload.
        after: u16,
    },
}

/// What came back.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Answer {
    /// The server's answer to the upload.
    Put(u16),
    /// The server's answer to reading back, and whether the bytes are those of the file.
    ReadBack(u16, bool),
    /// Sent elsewhere: no folder answers so, the sign-in page of a network does.
    Redirected,
    /// No answer, or one that was cut off.
    Nothing,
    /// The phone could not read the file it was to send.
    NotHere,
    /// There is a user but no password in this session.
    NoPassword,
}

/// What an answer means for the file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Meaning {
    /// It is there.
    Delivered,
    /// It may be there: read it back.
    ReadBack,
    /// It is not known to be there.
    Not(Why),
}

/// Why a file is not known to have arrived.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// User or password.
    SignIn,
    /// The user may not write there.
    Forbidden,
    /// No such folder.
    NoFolder,
    /// The address takes no files.
    NotAccepted,
    /// A folder above is missing.
    NoParent,
    /// Too large for the server.
    TooLarge,
    /// Locked by somebody.
    Locked,
    /// No room on the server.
    Full,
    /// A fault of the server, or it is busy.
    Fault(u16),
    /// No network, or nobody answers.
    Network,
    /// Something else answered in place of the server.
    OtherPage,
    /// It was taken, but may not be read back.
    Unreadable,
    /// It was taken, but is not there.
    Vanished,
    /// Other bytes are there under its name.
    OtherBytes,
    /// The phone's own storage.
    NotHere,
    /// The password was for an earlier session.
    NoPassword,
    /// Any other answer.
    Unknown(u16),
}

/// When a file is tried again by itself. Each is also tried again at a start of the app, when the folder changes, and by hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rule {
    /// After a wait, and until then nothing else either: the cause is not the file's.
    AllLater,
    /// After a wait; the others go on.
    Later,
    /// Not, but the others go on.
    Never,
    /// Not, and nothing else either: the next would be answered alike.
    Stop,
}

impl Answer {
    /// What it means at a step; `None` when it is no answer to that step.
    pub fn meaning(self, step: Step) -> Option<Meaning> {
        Some(match (self, step) {
            (Answer::Put(status), Step::Put) => match status {
                201 => Meaning::Delivered,
                200 | 204 | 412 => Meaning::ReadBack,
                _ => Meaning::Not(Why::of(status)),
            },
            (Answer::ReadBack(200, true), Step::ReadBack { .. }) => Meaning::Delivered,
            // A server that would not make the file anew has something else; one that says it took the file has perhaps not answered.
            (Answer::ReadBack(200, false), Step::ReadBack { after: 412 }) => Meaning::Not(Why::OtherBytes),
            (Answer::ReadBack(200..=399, _), Step::ReadBack { .. }) => Meaning::Not(Why::OtherPage),
            (Answer::ReadBack(403 | 405, _), Step::ReadBack { .. }) => Meaning::Not(Why::Unreadable),
            (Answer::ReadBack(404 | 410, _), Step::ReadBack { .. }) => Meaning::Not(Why::Vanished),
            (Answer::ReadBack(status, _), Step::ReadBack { .. }) => Meaning::Not(Why::of(status)),
            (Answer::Redirected, _) => Meaning::Not(Why::OtherPage),
            (Answer::Nothing, _) => Meaning::Not(Why::Network),
            (Answer::NotHere, _) => Meaning::Not(Why::NotHere),
            (Answer::NoPassword, _) => Meaning::Not(Why::NoPassword),
            (Answer::Put(_), Step::ReadBack { .. }) | (Answer::ReadBack(..), Step::Put) => return None,
        })
    }
}

impl Why {
    /// The reason behind a status that is no success.
    pub fn of(status: u16) -> Why {
        match status {
            401 => Why::SignIn,
            403 => Why::Forbidden,
            404 | 410 => Why::NoFolder,
            405 | 501 => Why::NotAccepted,
            409 => Why::NoParent,
            413 => Why::TooLarge,
            423 => Why::Locked,
            507 => Why::Full,
            511 => Why::OtherPage,
            408 | 425 | 429 | 500..=599 => Why::Fault(status),
            200..=399 => Why::OtherPage,
            _ => Why::Unknown(status),
        }
    }

    /// What follows.
    pub fn rule(self) -> Rule {
        match self {
            Why::Full | Why::Fault(_) | Why::Network | Why::OtherPage => Rule::AllLater,
            Why::Locked | Why::Vanished | Why::OtherBytes => Rule::Later,
            Why::TooLarge | Why::NotHere => Rule::Never,
            Why::SignIn | Why::Forbidden | Why::NoFolder | Why::NotAccepted | Why::NoParent => Rule::Stop,
            Why::Unreadable | Why::NoPassword | Why::Unknown(_) => Rule::Stop,
        }
    }

    /// Whether the cause may be no single file's, but the network, the server or who signs in.
    pub fn may_be_of_all(self) -> bool {
        self == Why::SignIn || self.rule() == Rule::AllLater
    }

    /// What the person reads: what happened and what to do.
    pub fn words(self) -> String {
        let fixed = match self {
            Why::SignIn => "The server does not accept this user and password. Enter them again under “Office folder”.",
            Why::Forbidden => "This user may not write to the folder. Ask the person who runs the server.",
            Why::NoFolder => "There is no such folder on the server. Check the address under “Office folder”.",
            Why::NotAccepted => {
                "This address can't receive files. It must be a WebDAV folder: check it under “Office folder”."
            }
            Why::NoParent => "The folder is missing on the server. Ask the person who runs the server to create it.",
            Why::TooLarge => {
                "The file is too large for the server. Share it or save it here, and ask the person who runs the server to raise the limit."
            }
            Why::Locked => "The file is locked on the server. It will retry automatically.",
            Why::Full => {
                "The server has no space left. Ask the person who runs it to make room. It will retry automatically."
            }
            Why::Network => "No connection, or the server does not answer. It will retry automatically.",
            Why::OtherPage => {
                "Something other than the office server answered, perhaps the sign-in page of this network. Open any web page and sign in. It will retry automatically."
            }
            Why::Unreadable => {
                "The server took the file but does not let it be read back, so nothing proves that it arrived whole. Ask the person who runs the server to allow reading."
            }
            Why::Vanished => "The server said it has the file, but it is not there. It will retry automatically.",
            Why::OtherBytes => {
                "The server has something else under this name, perhaps a file cut off. Ask the person who runs the server to remove it. It will retry automatically."
            }
            Why::NotHere => "This phone could not read the file. Share the visit or save it as a file instead.",
            Why::NoPassword => "Enter the password under “Office folder”: it is kept only until the app is closed.",
            Why::Fault(status) => {
                return format!("The server reports a fault or is busy ({status}). It will retry automatically.");
            }
            Why::Unknown(status) => {
                return format!(
                    "The server refuses the file ({status}). Ask the person who runs the server, or share the visit instead."
                );
            }
        };
        fixed.to_string()
    }
}
