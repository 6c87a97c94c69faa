//! What is said of thin places and of marks that do not burn well.
