//! A visit file leaves: by the share sheet, or as a file where there is none.

use super::{Chains, with_names};
use crate::book::register::Register;
use crate::browser::clock;
use crate::browser::share::{self, NotShared, Sent};
use crate::handover::{Bundle, MEDIA, Made, NothingToHandOver, Select, bundle_of, file_name};
use crate::ui::app::{App, handed_over, keep_handed_over, use_app};
use crate::ui::parts::{Key, Look, Notice, Says, Section, Shape, Sheet};
use crate::view::handover::{self as words, ChainRow, HandedOver, Left};
use crate::view::words::CLOSE;
use leptos::prelude::*;
use leptos::task::spawn_local;

#[derive(Clone, Copy)]
struct Leaving {
    app: App,
    handed: RwSignal<HandedOver>,
    said: RwSignal<Option<Result<Left, String>>>,
    chains: RwSignal<Vec<ChainRow>>,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Way {
    Share,
    File,
}

/// What leaves.
#[component]
pub(super) fn out() -> impl IntoView {
    let app = use_app();
    let leaving = Leaving {
        app,
        handed: RwSignal::new(handed_over()),
        said: RwSignal::new(None),
        chains: RwSignal::new(Vec::new()),
    };
    let still_here = move || {
        app.track_visits();
        app.register.track();
        app.kit.track();
        let visit = app.visit.with(|visit| visit.as_ref().map(|visit| visit.id));
        let left = leaving
            .handed
            .with(|handed| app.book.with_untracked(|book| words::not_handed_over(book, handed, app.phone(), visit)));
        words::not_handed_over_words(left)
    };
    let no_visit = move || app.visit.with(Option::is_none).then(|| words::nothing(NothingToHandOver::Visit));
    let go_on = move || app.visit.with(|visit| words::tests_go_on(visit.as_ref()));
    let reading = Signal::derive(move || !app.all_here.get());
    let asks = RwSignal::new(false);
    let all_of_it = move || app.book.with_untracked(|book| words::all_of_it(book, &Register::of(book)));
    view! {
        <Section title=words::OUT>
            <p class="section-body">{words::OUT_HELP}</p>
            <p class="section-body" data-testid="not-handed-over">{still_here}</p>
            {move || no_visit().map(|why| view! { <p class="section-body soft" data-testid="export-why">{why}</p> })}
            {move || go_on().map(|why| view! { <Notice word=words::NOT_OVER words=why testid="tests-go-on" /> })}
            <div class="keys">
                <Key
                    label=words::OUT_VISIT
                    look=Look::Primary
                    icon=Shape::Share
                    wide=true
                    disabled=reading
                    on_press=move |()| leaving.hand_over(visit_of(app), Way::Share)
                    testid="export"
                />
                <Key
                    label=words::OUT_FILE
                    wide=true
                    disabled=reading
                    on_press=move |()| leaving.hand_over(visit_of(app), Way::File)
                    testid="export-file"
                />
                <Key
                    label=words::OUT_ALL
                    wide=true
                    disabled=reading
                    on_press=move |()| {
                        if app.book.with_untracked(|book| book.chains().next().is_some()) {
                            asks.set(true);
                        } else {
                            leaving.hand_over(Some(Select::Everything), Way::Share);
                        }
                    }
                    testid="export-all"
                />
            </div>
            <Sheet title=words::OUT_ALL open=asks close=CLOSE on_close=move |()| asks.set(false) testid="export-all-sheet">
                <div class="section-body"><p>{all_of_it}</p></div>
                <div class="keys">
                    <Key
                        label=words::OUT_ALL
                        look=Look::Primary
                        icon=Shape::Share
                        wide=true
                        on_press=move |()| {
                            asks.set(false);
                            leaving.hand_over(Some(Select::Everything), Way::Share);
                        }
                        testid="export-all-yes"
                    />
                </div>
            </Sheet>
            {move || leaving.said.get().map(|said| match said {
                Err(why) => view! {
                    <Notice says=Says::Warning word=words::NOTHING words=why testid="export-refused" />
                }
                .into_any(),
                Ok(left) => {
                    let says = match left {
                        Left::Shared(_) | Left::Saved(_) => Says::Done,
                        Left::Cancelled => Says::Info,
                        Left::Failed(_) => Says::Warning,
                    };
                    view! { <Notice says word=words::OUT words=left.words() testid="export-said" /> }.into_any()
                }
            })}
            {move || {
                let rows = leaving.chains.get();
                (!rows.is_empty()).then(|| view! { <Chains rows /> })
            }}
        </Section>
    }
}

fn visit_of(app: App) -> Option<Select> {
    app.visit.with_untracked(|visit| visit.as_ref().map(|visit| Select::Visit(visit.id)))
}

impl Leaving {
    fn hand_over(self, select: Option<Select>, way: Way) {
        self.chains.set(Vec::new());
        match self.bundle(select) {
            Err(why) => self.said.set(Some(Err(words::nothing(why)))),
            Ok((bundle, name)) => spawn_local(async move {
                let left = send(&name, &bundle.text, way).await;
                if matches!(left, Left::Shared(_) | Left::Saved(_)) {
                    self.note(&bundle);
                }
                self.said.set(Some(Ok(left)));
            }),
        }
    }

    fn bundle(self, select: Option<Select>) -> Result<(Bundle, String), NothingToHandOver> {
        let select = select.ok_or(NothingToHandOver::Visit)?;
        let app = self.app;
        let at = clock::now().wall_ms;
        let made = Made { at, app: env!("CARGO_PKG_VERSION").to_string(), phone: app.phone() };
        let bundle = app.book.with_untracked(|book| bundle_of(book, select, &made))?;
        let site = app.register.with_untracked(|register| {
            app.visit.with_untracked(|visit| {
                let visit = visit.as_ref().filter(|_| select != Select::Everything);
                words::file_site(register, visit)
            })
        });
        let name = file_name(&site, at, clock::offset_minutes(at).into(), &bundle.text);
        Ok((bundle, name))
    }

    /// Remembers what has left, and shows the hashes to be compared.
    fn note(self, bundle: &Bundle) {
        self.handed.update(|handed| words::note_handed_over(handed, &bundle.chains));
        if let Err(why) = self.handed.with_untracked(keep_handed_over) {
            self.app.trouble.set(Some(format!("What was sent could not be noted: {why}.")));
        }
        self.chains.set(with_names(self.app, |_, names| words::leaving_rows(bundle, names)));
    }
}

async fn send(name: &str, text: &str, way: Way) -> Left {
    if way == Way::Share {
        match share::share(name, text).await {
            Ok(Sent::Shared(name)) => return Left::Shared(name),
            Ok(Sent::Cancelled) => return Left::Cancelled,
            Err(NotShared::TryAgain(why)) => return Left::Failed(why),
            Err(NotShared::Download) => {}
        }
    }
    match share::download(name, text, MEDIA) {
        Ok(()) => Left::Saved(name.to_string()),
        Err(why) => Left::Failed(why),
    }
}
