//! The one renderer of pages: `view` says what, this says how.

mod find;
mod keyed;
mod pieces;

use super::perform::Performer;
use super::photos::pictures;
use crate::ui::app::use_app;
use crate::ui::memo::memo;
use crate::ui::parts::{self, Choice, Field, Figure, Fold, Icon, Rows, Sheet, Switch, Undo};
use crate::view::computed::TITLE as COMPUTED;
use crate::view::findings::figure::Shown;
use crate::view::forms::{Answer, Entry};
use crate::view::page::drawing::Drawing;
use crate::view::page::html;
use crate::view::page::sign::Shape;
use crate::view::page::svg::{self, WIDTH};
use crate::view::page::{
    self, Action, Block, Button, Kind, Later, Notice, Page, Request, Role, Row, Section, Table, Words,
};
use crate::view::settings::ON_OFF;
use crate::view::words::CLOSE;
use keyed::{Drawn, Keyed};
use leptos::{ev, prelude::*};
use std::sync::Arc;
use wasm_bindgen::JsCast;

/// Lines drawn in one task.
const PIECE: usize = 8;
/// How far a finger may be from the dot it means, in units of the drawing.
const REACH: f64 = 40.0;

/// A page; `beside` a list its title is one of two and the list leads back. One that stands `aside` of what is looked at is not printed.
#[component]
pub(super) fn drawn(page: Memo<Page>, #[prop(optional)] beside: bool, #[prop(optional)] aside: bool) -> impl IntoView {
    let titled = memo(move || page.with(|page| !page.title.is_empty()));
    let to = Performer::new(use_app(), Some(page));
    if !aside {
        to.paper.shows(page);
        on_cleanup(move || to.paper.leaves(page));
    }
    let title = memo(move || page.with(|page| page.title.to_string()));
    let detail = memo(move || page.with(|page| page.detail.to_string()));
    let menu = memo(move || page.with(|page| page.menu.clone()));
    let back = memo(move || page.with(|page| page.back.clone()).filter(|_| !beside));
    let blocks = memo(move || page.with(|page| page.blocks.clone()));
    let foot = memo(move || page.with(|page| page.foot.clone()));
    let (name, long) = page.with_untracked(|page| (page.name, page.long));
    if let Some(anchor) = page.with_untracked(|page| page.at.clone()) {
        request_animation_frame(move || {
            if let Some(there) = document().get_element_by_id(&anchor) {
                there.scroll_into_view();
            }
        });
    }
    let said = move || (!detail.with(String::is_empty)).then(|| view! { <p>{move || detail.get()}</p> });
    view! {
        <div class="page" class:long=long data-testid=name>
            {move || titled.get().then(|| view! {
            <header class="page-head">
                {move || back.get().map(|back| button(back, to))}
                {if beside {
                    view! { <h2>{move || title.get()}</h2> }.into_any()
                } else {
                    view! { <h1 tabindex="-1">{move || title.get()}</h1> }.into_any()
                }}
                {move || (!menu.with(Vec::is_empty)).then(|| {
                    let keys = menu.get().into_iter().map(|key| button(key, to)).collect_view();
                    view! { <div class="page-acts">{keys}</div> }
                })}
                {said}
            </header>
            })}
            {self::blocks(blocks.into(), to)}
            {move || (!foot.with(Vec::is_empty)).then(|| {
                let keys = foot.get().into_iter().map(|key| button(key, to)).collect_view();
                view! { <div class="keys save">{keys}</div> }
            })}
        </div>
    }
}

/// Blocks on a screen of its own.
#[component]
pub(super) fn blocks_here(of: Signal<Vec<Block>>) -> impl IntoView {
    blocks(of, Performer::new(use_app(), None))
}

/// What did not change since it was drawn last is not drawn again.
fn each<T: Keyed>(of: Signal<Vec<T>>, draw: impl Fn(keyed::Item<T>) -> AnyView + Copy + Send + 'static) -> AnyView {
    let drawn = StoredValue::new_local(Drawn::<T>::default());
    let items = move || {
        keep_focus();
        let next = of.with(|now| drawn.try_update_value(|drawn| drawn.next(now)));
        next.unwrap_or_default()
    };
    view! { <For each=items key=|item| item.id.clone() children=draw /> }.into_any()
}

fn blocks(of: Signal<Vec<Block>>, to: Performer) -> AnyView {
    each(of, move |item| match item.live {
        Some(live) => holder(live, to),
        None => leaf(item.value, to),
    })
}

/// A block with blocks of its own: it stays while they change.
fn holder(live: ArcRwSignal<Block>, to: Performer) -> AnyView {
    let first = live.get_untracked();
    let live = RwSignal::from(live);
    let inside = memo(move || {
        live.with(|block| match &block.kind {
            Kind::Section(of) | Kind::Sheet(of) => of.blocks.clone(),
            Kind::Fold(of) => of.blocks.clone(),
            _ => Vec::new(),
        })
    });
    let title = memo(move || {
        live.with(|block| match &block.kind {
            Kind::Section(of) | Kind::Sheet(of) => of.title.to_string(),
            Kind::Fold(of) => of.title.to_string(),
            _ => String::new(),
        })
    });
    match first.kind {
        Kind::Fold(of) => view! {
            <Fold title open=Signal::stored(of.open) testid=first.key.into_owned()>
                {blocks(inside.into(), to)}
            </Fold>
        }
        .into_any(),
        Kind::Sheet(_) => {
            let key = first.key.clone();
            let open = Signal::derive(move || to.open.with(|open| open.as_ref() == Some(&key)));
            view! {
                <Sheet title open close=CLOSE on_close=move |()| to.open.set(None) testid=first.key.into_owned()>
                    {blocks(inside.into(), to)}
                </Sheet>
            }
            .into_any()
        }
        Kind::Rows(of) => {
            let rows = memo(move || {
                live.with(|block| match &block.kind {
                    Kind::Rows(of) => of.rows.clone(),
                    _ => Vec::new(),
                })
            });
            view! { <Rows label=of.label.into_owned()>{few_by_few(rows, to)}</Rows> }.into_any()
        }
        Kind::Section(Section { anchor, .. }) => {
            let part = move |get: fn(&Section) -> &Words| {
                memo(move || {
                    live.with(|block| match &block.kind {
                        Kind::Section(of) => get(of).to_string(),
                        _ => String::new(),
                    })
                })
            };
            let (at, end) = (part(|of| &of.at), part(|of| &of.end));
            view! {
                <section class="section" id=anchor>
                    <div class="section-head">
                        <span class="at">{move || at.get()}</span>
                        <h2>{move || title.get()}</h2>
                        <span class="soft">{move || end.get()}</span>
                    </div>
                    {blocks(inside.into(), to)}
                </section>
            }
            .into_any()
        }
        // Everything else is a leaf.
        _ => ().into_any(),
    }
}

/// Lines, the first of them at once.
fn few_by_few(rows: Memo<Vec<Row>>, to: Performer) -> AnyView {
    // Lists that are all on the page at once keep the place that one comes back to.
    let long = to.page.is_some_and(|page| page.with_untracked(|page| page.long));
    let drawn = RwSignal::new(if long { PIECE } else { usize::MAX });
    let going = StoredValue::new_local(false);
    let shown = move || {
        let count = rows.with(Vec::len);
        if drawn.get_untracked() < count && !going.get_value() {
            going.set_value(true);
            pieces::draw_later(move || {
                let drew = drawn.try_update(|drawn| {
                    *drawn = drawn.saturating_add(PIECE);
                    *drawn
                });
                // Where the page was left nobody waits for it.
                let more = drew.zip(rows.try_with_untracked(Vec::len)).is_some_and(|(drawn, count)| drawn < count);
                let _gone = going.try_set_value(more);
                more
            });
        }
        rows.with(|rows| rows.iter().take(drawn.get()).cloned().collect::<Vec<_>>())
    };
    each(Signal::derive(shown), move |item| row(item.value, to))
}

fn leaf(block: Block, to: Performer) -> AnyView {
    let Block { key, kind } = block;
    let testid = key.into_owned();
    match kind {
        Kind::Buttons(of) => keys(of, to),
        Kind::Notice(of) => notice(of, testid, to),
        Kind::Headline(of) => {
            view! {
                <div class="headline" data-testid=testid>
                    <p><Icon of=of.shape /> <b>{of.words}</b></p>
                    {of.badge.map(badge)}
                </div>
            }
            .into_any()
        }
        Kind::Text(role, words) => text(role, words, testid),
        Kind::Table(of) => table(of, testid),
        Kind::Facts(of) => {
            let fact = |(name, value): (Words, Words)| view! { <dt>{name}</dt> <dd>{value}</dd> };
            view! {
                <div class="section-body" data-testid=testid>
                    <dl class="inputs">{of.into_iter().map(fact).collect_view()}</dl>
                </div>
            }
            .into_any()
        }
        Kind::Figure(of) => figure(*of, testid),
        Kind::Empty(of) => {
            let untitled = to.page.is_some_and(|page| page.with_untracked(|page| page.title.is_empty()));
            let title = if untitled {
                view! { <h1 tabindex="-1">{of.title}</h1> }.into_any()
            } else {
                view! { <h2>{of.title}</h2> }.into_any()
            };
            view! {
                <div class="empty" data-testid=testid>
                    <Icon of=of.shape />
                    {title}
                    <p>{of.words}</p>
                    {keys(of.buttons, to)}
                </div>
            }
            .into_any()
        }
        Kind::Undo(page::Undo { words, shape, label, action }) => {
            view! {
                <div class="section-body" data-testid=testid>
                    <Undo words=words.into_owned() shape=Signal::stored(shape) act=label on_undo=move |()| to.perform(&action) />
                </div>
            }
            .into_any()
        }
        Kind::Choice(of) => {
            let answers: Vec<Answer> = of.answers.iter().map(|(value, label)| Answer::new(value, label)).collect();
            let setting = of.setting;
            let pick = move |value: String| to.perform(&Action::Set(setting, value.into()));
            let value = of.value.to_string();
            view! { <Choice id=of.id label=of.label answers=Signal::stored(answers) value=Signal::stored(value) on_pick=pick across=of.across /> }
                .into_any()
        }
        Kind::Paste(page::Paste { id, label, help }) => {
            let cells = to.sheets.cells;
            view! { <Field id label value=cells on_input=move |text| cells.set(text) entry=Entry::Long help=help.to_string() /> }
                .into_any()
        }
        Kind::Drawing(of) => drawing(*of, to),
        Kind::Pictures(of) => pictures(of, move |action| to.perform(action)),
        Kind::Later(of) => later(of, to),
        Kind::Find(of) => find::find(of, testid),
        Kind::Section(_) | Kind::Fold(_) | Kind::Sheet(_) | Kind::Rows(_) => ().into_any(),
    }
}

fn later(of: Later, to: Performer) -> AnyView {
    let shaped = RwSignal::new(Vec::new());
    pieces::draw_later(move || {
        let _gone = shaped.try_set(of.blocks());
        false
    });
    blocks(shaped.into(), to)
}

/// A table as text alone, so that many lines are drawn at once.
fn table(of: Arc<Table>, testid: String) -> AnyView {
    let label = of.label.to_string();
    let text = RwSignal::new(String::new());
    if of.later {
        pieces::draw_later(move || {
            let _gone = text.try_set(html::table(&of));
            false
        });
    } else {
        text.set(html::table(&of));
    }
    view! { <div class="wide" role="region" tabindex="0" aria-label=label data-testid=testid inner_html=move || text.get()></div> }
        .into_any()
}

fn text(role: Role, words: Words, testid: String) -> AnyView {
    let class = match role {
        Role::Plain => "section-body",
        Role::Soft => "section-body soft",
        Role::Formula => "formula",
        Role::Source => "source",
        Role::Heading => return view! { <h3 class="heading" data-testid=testid>{words}</h3> }.into_any(),
    };
    view! { <p class=class data-testid=testid>{words}</p> }.into_any()
}

fn notice(of: Notice, testid: String, to: Performer) -> AnyView {
    let Notice { says, word, words, buttons } = of;
    let below = (!buttons.is_empty()).then(|| keys(buttons, to));
    view! { <parts::Notice says word=word.into_owned() words=words.into_owned() testid>{below}</parts::Notice> }
        .into_any()
}

fn row(of: Row, to: Performer) -> AnyView {
    let Row { key, title, detail, sign, at, badges, action, buttons, aside, figure: shown } = of;
    let testid = key.into_owned();
    let below = (!buttons.is_empty()).then(|| {
        let keys = buttons.into_iter().map(|key| button(key, to)).collect_view();
        view! { <li class="row-keys keys">{keys}</li> }
    });
    if let Some(shown) = shown {
        return view! { <li>{figure(*shown, testid)}</li> {below} }.into_any();
    }
    // What is tapped in its place leads nowhere.
    let stays = matches!(action, None | Some(Action::Do(Request::WalkTo(..))));
    let leads = (!stays && aside.is_none()).then(|| view! { <span class="chevron"><Icon of=Shape::Next /></span> });
    let inside = view! {
        <span class="row-sign">
            {sign.map(|of| view! { <Icon of /> })}
            {(!at.is_empty()).then(|| view! { <span class="num">{at}</span> })}
        </span>
        <span class="row-body">
            <span class="row-words">
                <span class="row-title">{title}</span>
                {(!detail.is_empty()).then(|| view! { <span class="row-detail">{detail}</span> })}
            </span>
            {badges.into_iter().map(badge).collect_view()}
            {leads}
        </span>
    };
    let line = match action {
        Some(action) => {
            // The line of what is shown beside the list.
            let shown = match action {
                Action::Go(place) => Some(move || (to.place().get() == place).then_some("true")),
                _ => None,
            };
            view! {
                <button type="button" class="row" aria-current=shown data-testid=testid on:click=move |_| to.perform(&action)>
                    {inside}
                </button>
            }
            .into_any()
        }
        None => view! { <div class="row" data-testid=testid>{inside}</div> }.into_any(),
    };
    match aside {
        Some(aside) => view! { <li class="row-two">{line} {button(*aside, to)}</li> {below} }.into_any(),
        None => view! { <li>{line}</li> {below} }.into_any(),
    }
}

fn badge(of: page::Badge) -> AnyView {
    let testid = (!of.key.is_empty()).then(|| of.key.to_string());
    view! { <parts::Badge shape=of.shape tone=of.tone word=of.word.into_owned() testid=testid.unwrap_or_default() /> }
        .into_any()
}

fn keys(buttons: Vec<Button>, to: Performer) -> AnyView {
    view! { <div class="keys">{buttons.into_iter().map(|key| button(key, to)).collect_view()}</div> }.into_any()
}

fn button(of: Button, to: Performer) -> AnyView {
    let Button { key, label, icon, look, wide, bare, off, on, action } = of;
    let (label, testid) = (label.into_owned(), key.into_owned());
    match on {
        Some(on) => {
            view! { <Switch label on=Signal::stored(on) words=ON_OFF on_turn=move |_| to.perform(&action) testid /> }
                .into_any()
        }
        None => {
            let class = match look {
                parts::Look::Quiet => "key",
                parts::Look::Primary => "key primary",
                parts::Look::Danger => "key danger",
                parts::Look::Plain => "key plain",
            };
            view! {
                <button type="button" class=class class:wide=wide disabled=off data-testid=testid on:click=move |_| to.perform(&action)>
                    {icon.map(|of| view! { <Icon of /> })}
                    <span class:unseen=bare>{label}</span>
                </button>
            }
            .into_any()
        }
    }
}

/// A figure that opens.
pub(super) fn figure(of: Shown, testid: String) -> AnyView {
    let Shown { label, value, unit, spread, formula, inputs, source, way } = of;
    view! { <Figure label value unit spread formula inputs source way=(COMPUTED, way) testid /> }.into_any()
}

fn drawing(of: Drawing, to: Performer) -> AnyView {
    let text = svg::svg(&of);
    let Drawing::Dots(plot, picks) = of else {
        return view! { <div class="section-body" inner_html=text></div> }.into_any();
    };
    let places = svg::dot_places(&plot);
    let pick = move |event: ev::MouseEvent| {
        if let Some(action) = meant(&event, &places).and_then(|index| picks.get(index)) {
            to.perform(action);
        }
    };
    view! { <div class="section-body" inner_html=text on:click=pick></div> }.into_any()
}

/// Which of `places` a tap means; none where all are far off.
fn meant(event: &ev::MouseEvent, places: &[(f64, f64)]) -> Option<usize> {
    let around = event.current_target()?.dyn_into::<web_sys::Element>().ok()?;
    let plot = around.first_element_child()?.get_bounding_client_rect();
    let scale = WIDTH / plot.width();
    let (x, y) =
        ((f64::from(event.client_x()) - plot.left()) * scale, (f64::from(event.client_y()) - plot.top()) * scale);
    let mut best = (REACH * scale, None);
    for (index, place) in places.iter().enumerate() {
        let off = (place.0 - x).hypot(place.1 - y);
        if off < best.0 {
            best = (off, Some(index));
        }
    }
    best.1
}

/// What has the focus may be drawn anew: its successor of the same name takes it, so that a keyboard or a screen reader stays there.
fn keep_focus() {
    let focused = || document().active_element().filter(|element| element.tag_name() != "BODY");
    let Some(name) = focused().and_then(|element| element.get_attribute("data-testid")) else { return };
    request_animation_frame(move || {
        if focused().is_some() {
            return;
        }
        let same =
            document().query_selector(&format!("[data-testid=\"{}\"]", name.replace(['"', '\\'], ""))).ok().flatten();
        if let Some(element) = same.and_then(|element| element.dyn_into::<web_sys::HtmlElement>().ok()) {
            // What is already gone takes no focus.
            drop(element.focus());
        }
    });
}
