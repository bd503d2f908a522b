//! What a ramped motion is doing.

crate::choices! {
    /// What the machine does, seen after the ramp.
    #[cfg_attr(feature = "defmt", derive(defmt::Format))]
    pub enum MotionState {
        /// Both sides at zero.
        Standing = "standing",
        /// Forward, straight or in a turn.
        Forward = "forward",
        /// In reverse, straight or in a turn.
        Reverse = "reverse",
        /// The sides against each other.
        Rotation = "rotation",
    }
}

crate::choices! {
    /// What the ramp does with it.
    #[cfg_attr(feature = "defmt", derive(defmt::Format))]
    pub enum MotionPhase {
        /// What is asked is reached.
        Holding = "holding",
        /// More is asked than is done.
        Accelerating = "accelerating",
        /// Less is asked than is done.
        Decelerating = "decelerating",
        /// The opposite is asked: on the way to zero, or at rest there.
        Reversing = "reversing",
    }
}

crate::choices! {
    /// Whether the drive is taken from the operator's hand.
    #[cfg_attr(feature = "defmt", derive(defmt::Format))]
    pub enum StopRequest {
        /// It follows the levers.
        None = "none",
        /// Both sides go to zero as a pair within the stop time, whatever the levers ask.
        Controlled = "controlled",
    }
}
