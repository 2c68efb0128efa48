//! Exit statuses: one small number that says what came out of all sheets together.

use std::process::ExitCode;

use crate::Verdict;

/// What a call, or its part for one sheet, came to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Status {
    /// Every sheet describes exactly one object, or what was asked for was written.
    Unique,
    /// Some file could not be read or written.
    Failed,
    /// The command line asks for something that does not exist.
    WrongUsage,
    /// A sheet describes several objects.
    Ambiguous,
    /// A sheet describes no object.
    Contradictory,
    /// A limit stopped the search.
    Undecided,
}

impl Status {
    /// The number the shell sees.
    pub(super) fn code(self) -> u8 {
        match self {
            Status::Unique => 0,
            Status::Failed => 1,
            Status::WrongUsage => 2,
            Status::Ambiguous => 3,
            Status::Contradictory => 4,
            Status::Undecided => 5,
        }
    }

    /// The status of two sheets together: a failure outweighs everything, else the larger number counts.
    pub(super) fn and(self, other: Status) -> Status {
        match (self, other) {
            (Status::Failed, _) | (_, Status::Failed) => Status::Failed,
            _ if other.code() > self.code() => other,
            _ => self,
        }
    }
}

impl From<Verdict> for Status {
    fn from(verdict: Verdict) -> Self {
        match verdict {
            Verdict::Unique => Status::Unique,
            Verdict::Ambiguous => Status::Ambiguous,
            Verdict::Contradictory => Status::Contradictory,
            Verdict::Undecided => Status::Undecided,
        }
    }
}

impl From<Status> for ExitCode {
    fn from(status: Status) -> Self {
        ExitCode::from(status.code())
    }
}

#[cfg(test)]
mod tests {
    use super::Status;

    #[test]
    fn unreadable_file_outweighs_every_verdict() {
        let all = [
            Status::Unique,
            Status::Ambiguous,
            Status::Contradictory,
            Status::Undecided,
        ];
        for status in all {
            assert_eq!(status.and(Status::Failed), Status::Failed);
            assert_eq!(Status::Failed.and(status), Status::Failed);
        }
    }

    #[test]
    fn largest_verdict_counts() {
        assert_eq!(Status::Undecided.and(Status::Ambiguous), Status::Undecided);
        assert_eq!(
            Status::Unique.and(Status::Contradictory),
            Status::Contradictory
        );
    }
}
